"""HAMSTAD exercises 1, 3, 4 and 5 against independent integrations of the same equations.

Owns the set-up of these cases. The published curves are not available and parts of the input are
stand-ins (see SOURCE.md of each case): nothing here claims the published band.
"""

from __future__ import annotations

import numpy as np
from scipy.interpolate import PchipInterpolator

from hygro.proof.check import Array, Check, Line, Origin, Outcome, Picture, compare
from hygro.proof.inputs import both_ways, case_wall, definition, still_loads, table
from hygro.solve.march import run
from hygro.solve.settings import Settings
from hygro.solve.setup import Run
from hygro.wall.loads import Loads, constant_loads

NO_ICE = Settings(freezing=False, min_step=1e-5)
"""The exercises know no ice; the first step after the jump at the start may be short."""
RANGE = "1 % of the range, a tenth of what curves of a round robin usually lie apart (from memory)"
ATMOSPHERE, AIR_GAS, ENGINE_T = 101325.0, 287.06, 293.15
"""Total pressure [Pa], gas constant of dry air [J/(kg·K)], temperature at which the engine counts
volumes of air [K]."""


def _origin(number: int, what: str) -> Origin:
    parts = (f"Hagentoft 2002, R-02:8 exercise {number} (from memory)", what)
    text = " ".join(part for part in parts if part)
    return Origin(f"{text}; finite volumes, CVODE", "own independent implementation")


def _range(values: Array) -> float:
    return float(np.ptp(values))


def roof() -> Outcome:
    """Exercise 1: moisture of both layers over five years, heat to the inside in year 1."""
    case, origin = "hamstad_1", _origin(1, "with a stand-in climate")
    cells = {
        "load-bearing": both_ways(0.1, 1e-4, 1.3, 4e-3),
        "insulation": both_ways(0.05, 1e-4, 1.3, 3e-3),
    }
    result = run(case_wall(case), _roof_loads(), NO_ICE, cells=cells)
    mass, heat = table(case, "reference_mass.csv"), table(case, "reference_heat.csv")
    days = mass["day"].astype(int)
    checks: list[Check] = []
    lines = []
    for index, name in enumerate(("load_bearing", "insulation")):
        pick = result.grid.layer == index
        ours = (result.w[:, pick] @ result.grid.thickness[pick])[24 * days]
        label = name.replace("_", "-")
        checks.append(
            compare(
                case, f"moisture of the {label} layer, 5 years", ours, mass[name], 1.0,
                unit="kg/m²", origin=origin, reason=RANGE, scale=_range(mass[name]), at=days,
                at_unit="d",
            )
        )  # fmt: skip
        lines += [
            Line(label, days / 365, ours),
            Line(label, days[::6] / 365, mass[name][::6], True),
        ]
    # without the day of the jump at the start, where the reference's trapezoids are coarse
    flux = -result.ledger.energy_inside.reshape(-1, 24).mean(axis=1)[1:365] / 3600.0
    reference, day = heat["heat_to_inside"][1:], heat["day"][1:]
    checks.append(
        compare(
            case, "daily heat flux to the inside, year 1", flux, reference, 1.0, unit="W/m²",
            origin=origin, reason=RANGE, scale=_range(reference), at=day, at_unit="d",
        )
    )  # fmt: skip
    return Outcome(
        tuple(checks),
        (
            Picture(f"{case}_mass", "HAMSTAD exercise 1, stand-in climate: moisture of the layers",
                    "years", "kg/m²", tuple(lines)),
            Picture(f"{case}_heat", "HAMSTAD exercise 1, stand-in climate: heat to the inside",
                    "day of year 1", "W/m²",
                    (Line("daily mean", day, flux),
                     Line("daily mean", day[::7], reference[::7], True))),
        ),
    )  # fmt: skip


def _roof_loads() -> Loads:
    data = table("hamstad_1", "loads.csv")
    hours = np.arange(8760 * 5 + 1) % 8760
    loads = still_or("hamstad_1", hours.size - 1)
    loads.outside.temperature[:] = data["t_equivalent"][hours]
    loads.inside.temperature[:] = data["t_inside"][hours]
    loads.inside.vapour_pressure[:] = data["p_inside"][hours]
    return loads


def still_or(case: str, hours: int) -> Loads:
    """Loads with the films of a case and no state yet."""
    data = definition(case)
    still, (outside, inside) = (293.15, 1000.0), (data["outside"], data["inside"])
    return constant_loads(
        hours, still, still,
        outdoor_coefficients=(outside["heat"], outside["vapour"]),
        indoor_coefficients=(inside["heat"], inside["vapour"]),
    )  # fmt: skip


def air_flow() -> Outcome:
    """Exercise 3: states at five depths and the total moisture over 100 days."""
    case = "hamstad_3"
    origin = _origin(3, "with stand-in sorption and transport")
    data = definition(case)
    loads = still_loads(case, 2400)
    hours = np.arange(2400) + 0.5
    pressure = np.interp(3600.0 * hours, data["air"]["times"], data["air"]["pressures"])
    # dry air of the exercise as volume of the air upstream, whose vapour it carries
    p_o, p_i = loads.outside.vapour_pressure[0], loads.inside.vapour_pressure[0]
    vapour = np.where(pressure > 0.0, p_i, p_o)
    density = (ATMOSPHERE - vapour) / (AIR_GAS * ENGINE_T)
    loads.air[:] = -data["air"]["permeance"] * pressure / density
    wall = case_wall(case, reverse=True)
    result = run(wall, loads, NO_ICE, cells={"wall": both_ways(0.2, 2e-4, 1.15, 4e-3)})
    reference = table(case, "reference.csv")
    checks: list[Check] = []
    lines = []
    places = data["case"]["output_positions"]
    day = reference["day"].astype(int)
    for key, unit, name, values in (
        ("t", "K", "temperature", result.T),
        ("rh", "1", "relative humidity", result.rh),
    ):
        theirs = np.stack([reference[f"{key}_{x:.2f}"] for x in places], axis=1)
        ours = PchipInterpolator(result.grid.node, values[24 * day], axis=1)(0.2 - np.array(places))
        checks.append(
            compare(
                case, f"{name} at 5 depths, 100 d", ours, theirs, 1.0, unit=unit, origin=origin,
                reason=RANGE, scale=_range(theirs), at=day[:, None], at_unit="d",
            )
        )  # fmt: skip
        if key == "rh":
            for k, x in enumerate(places):
                label = f"{x:g} m"
                lines.append(Line(label, day, ours[:, k]))
                lines.append(Line(label, day[::4], theirs[::4, k], True))
    total = (result.w @ result.grid.thickness)[24 * day]
    checks.append(
        compare(
            case, "total moisture, 100 d", total, reference["total"], 1.0, unit="kg/m²",
            origin=origin, reason=RANGE, scale=_range(reference["total"]), at=day, at_unit="d",
            note="mass flow turned into volume with the dry-air density of the air upstream",
        )
    )  # fmt: skip
    picture = Picture(
        case, "HAMSTAD exercise 3, stand-in material: air flow reversed after 20 d", "days",
        "relative humidity at depths from inside", tuple(lines),
    )  # fmt: skip
    return Outcome(tuple(checks), (picture,))


def rain_and_sun() -> Outcome:
    """Exercise 4: surface temperatures and moisture of both layers over 120 h of rain and sun."""
    case = "hamstad_4"
    origin = _origin(4, "with a stand-in climate and stand-in liquid transport")
    data = table(case, "loads.csv")
    loads = still_or(case, 120)
    loads.outside.temperature[:] = data["t_equivalent"]
    loads.outside.vapour_pressure[:] = data["p_outside"]
    loads.outside.rain[:] = data["rain"][:-1]
    loads.inside.temperature[:] = data["t_inside"]
    loads.inside.vapour_pressure[:] = data["p_inside"]
    cells = {
        "load-bearing": both_ways(0.1, 2e-5, 1.15, 1e-3),
        "finishing": both_ways(0.02, 1e-4, 1.15, 1e-3),
    }
    result = run(case_wall(case), loads, NO_ICE, cells=cells)
    reference = table(case, "reference_surfaces.csv")
    found = {
        "load_bearing": _mass(result, 0),
        "finishing": _mass(result, 1),
        "t_outer": result.interface_T[:, 0, 0],
        "t_inner": result.interface_T[:, -1, 1],
    }
    names = {
        "load_bearing": ("moisture of the load-bearing layer, 120 h", "kg/m²"),
        "finishing": ("moisture of the finishing layer, 120 h", "kg/m²"),
        "t_outer": ("outdoor surface temperature, 120 h", "K"),
        "t_inner": ("indoor surface temperature, 120 h", "K"),
    }
    hour = reference["hour"]
    checks = [
        compare(
            case, words, found[key][1:], reference[key][1:], 1.0, unit=unit, origin=origin,
            reason=RANGE, scale=_range(reference[key]), at=hour[1:], at_unit="h",
        )
        for key, (words, unit) in names.items()
    ]  # fmt: skip
    lines = [
        part
        for key, label in (("load_bearing", "load-bearing"), ("finishing", "finishing"))
        for part in (
            Line(label, hour, found[key]),
            Line(label, hour[::3], reference[key][::3], True),
        )
    ]
    picture = Picture(
        case, "HAMSTAD exercise 4, stand-in climate: rain and sun", "hours", "moisture, kg/m²",
        tuple(lines),
    )  # fmt: skip
    return Outcome(tuple(checks), (picture,))


def _mass(result: Run, layer: int) -> Array:
    pick = result.grid.layer == layer
    return np.asarray(result.w[:, pick] @ result.grid.thickness[pick])


def inside_insulation() -> Outcome:
    """Exercise 5: profiles after 60 days in brick, mortar and insulation in capillary contact."""
    case, origin = "hamstad_5", _origin(5, "")
    cells = {
        "brick": both_ways(0.365, 2e-4, 1.2, 6e-3),
        "mortar": both_ways(0.015, 1e-4, 1.2, 4e-4),
        "insulation": both_ways(0.040, 1e-4, 1.2, 6e-4),
    }
    result = run(case_wall(case), still_loads(case, 1440), NO_ICE, cells=cells)
    reference = table(case, "reference.csv")
    x = reference["x"]
    checks: list[Check] = []
    lines = []
    ends = np.cumsum([0.365, 0.015, 0.040])
    layer = np.searchsorted(ends, x)
    for key, unit, values in (
        ("temperature", "K", result.T),
        ("rh", "1", result.rh),
        ("content", "kg/m³", result.w),
    ):
        ours = np.empty_like(x)
        for k in range(3):
            pick = result.grid.layer == k
            depth = result.grid.node[pick]
            ours[layer == k] = PchipInterpolator(depth, values[-1, pick])(x[layer == k])
        checks.append(
            compare(
                case, f"{key} profile at 60 d", ours, reference[key], 1.0, unit=unit,
                origin=origin, reason=RANGE, scale=_range(reference[key]), at=x,
            )
        )  # fmt: skip
        if key == "rh":
            lines += [
                Line("60 d", result.grid.node, values[-1]),
                Line("60 d", x, reference[key], True),
            ]
    picture = Picture(
        case, "HAMSTAD exercise 5: brick, mortar, capillary-active insulation", "depth, m",
        "relative humidity", tuple(lines),
    )  # fmt: skip
    return Outcome(tuple(checks), (picture,))
