"""Moisture alone against exact solutions: uptake, cup tests, buffering. Isothermal walls."""

from __future__ import annotations

from typing import Any

import numpy as np
from scipy.interpolate import PchipInterpolator

from hygro.material.liquid import AbsorptionDiffusivity, ConstantDiffusivity
from hygro.material.model import Material
from hygro.material.storage import LinearStorage
from hygro.material.thermal import ConstantConductivity
from hygro.material.vapour import ConstantPermeability, PowerPermeability
from hygro.proof.check import Array, Check, Line, Origin, Outcome, Picture, compare
from hygro.proof.inputs import TIGHT, air, bare, definition, from_surface, growing, rows, table
from hygro.solve.march import run
from hygro.solve.settings import Settings
from hygro.solve.setup import Run
from hygro.wall.elements import Initial, Layer
from hygro.wall.loads import Loads, constant_loads
from hygro.wall.surfaces import Inside
from hygro.wall.wall import Wall

ISOTHERMAL = 1e5
"""Conductivity that keeps one temperature, as the exact solutions have it. [W/(m·K)]"""
STRETCH = 6
"""Time is stretched for the buffer cycle, so that hourly output resolves the turning points: in a
linear material the uptake goes exactly with the root of the period. [1]"""


def _material(name: str, **parts: Any) -> Material:
    return Material(
        key=name, name=name, group="benchmark", density=1000.0, heat_capacity=1000.0,
        pore_volume=parts.pop("pore_volume", 0.3), thermal=ConstantConductivity(ISOTHERMAL),
        absorbent="liquid" in parts, **parts,
    )  # fmt: skip


def _wall(material: Material, thickness: float, initial: Initial, *, imposed: bool = True) -> Wall:
    layer = Layer(material, thickness, name="specimen", initial=initial)
    return Wall(
        material.name, (layer,), outside=bare(imposed=imposed), inside=Inside(imposed=imposed)
    )


def constant_uptake() -> Outcome:
    """Water taken up from free water by a material of constant diffusivity."""
    case = "constant_diffusivity_uptake"
    data = definition(case)["material"]
    w_f, A = data["capillary_content"], data["uptake_coefficient"]
    liquid = ConstantDiffusivity(np.pi / 4.0 * (A / w_f) ** 2)
    origin = Origin("D = (π/4)(A/w_f)², Crank 1975 7.2 (from memory)", "exact solution")
    return _uptake(case, liquid, w_f, origin, A, smooth=True)


def exponential_uptake() -> Outcome:
    """The same with D = 3.8 (A/w_f)²·1000^(w/w_f − 1)."""
    case = "exponential_diffusivity_uptake"
    data = definition(case)["material"]
    w_f, A = data["capillary_content"], data["uptake_coefficient"]
    origin = Origin("similarity solution by collocation; D of Künzel 1995 (from memory)",
                    "exact solution")  # fmt: skip
    exact = float(np.sqrt(definition(case)["diffusivity"]["literature_constant"] / 3.73598) * A)
    return _uptake(case, AbsorptionDiffusivity(A, w_f), w_f, origin, exact, smooth=False)


def _uptake(
    case: str, liquid: Any, w_f: float, origin: Origin, coefficient: float, *, smooth: bool
) -> Outcome:
    material = _material(
        case, storage=LinearStorage(w_f), vapour=ConstantPermeability(TIGHT), liquid=liquid
    )
    depth = definition(case)["case"]["depth"]
    wall = _wall(material, depth, Initial(moisture_content=0.0, temperature=293.15))
    loads = constant_loads(24, air(293.15, 1.0), air(293.15, 1e-6))
    cells = {"specimen": growing(depth, 2e-4, 1.01, 5e-4)}
    result = run(wall, loads, Settings(tolerance=0.1, min_step=1e-6), cells=cells)
    reference, mass = table(case, "reference.csv"), table(case, "reference_mass.csv")
    x = reference["x"]
    checks: list[Check] = []
    lines = []
    for hour in (1, 6, 24):
        ours = from_surface(result.grid, w_f, result.w[hour])
        theirs = reference[f"w_{hour}h"]
        # a steep front is smeared over a cell or two: compare behind it, its place by the mass
        pick = np.ones(x.size, bool) if smooth else theirs > 0.25 * w_f
        checks.append(
            compare(
                case, f"content at {hour} h", ours(x[pick]), theirs[pick], 0.5, unit="kg/m³",
                origin=origin, scale=w_f, at=x[pick],
                reason="grid error of 0.2-0.5 mm cells, largest at the front",
                note="" if smooth else "behind the front",
            )
        )  # fmt: skip
        fine = np.linspace(0.0, 0.3, 400)
        lines += [Line(f"{hour} h", fine, ours(fine)), Line(f"{hour} h", x, theirs, True)]
    taken = result.w[[1, 6, 24]] @ result.grid.thickness - result.w[0] @ result.grid.thickness
    hours = mass["time"] / 3600.0
    checks.append(
        compare(
            case, "water taken up, 1-24 h", taken, mass["mass"], 1.0, unit="kg/m²", origin=origin,
            relative=True, at=hours, at_unit="h", reason="first steps after the jump; grid",
        )
    )  # fmt: skip
    checks.append(
        compare(
            case, "uptake coefficient A from 1, 6, 24 h", taken / np.sqrt(mass["time"]),
            coefficient, 1.0, unit="kg/(m²·√s)", origin=origin, relative=True, at=hours,
            at_unit="h", reason="uptake must go with √t: the same A at all times",
        )
    )  # fmt: skip
    picture = Picture(case, case.replace("_", " ").capitalize(), "depth, m", "water content, kg/m³",
                      tuple(lines))  # fmt: skip
    return Outcome(tuple(checks), (picture,))


def cups() -> Outcome:
    """Dry and wet cup: constant permeability with and without films, and a varying one."""
    case = "cup_tests"
    origin = Origin("ISO 12572 arrangement (from memory), series resistances, Kirchhoff",
                    "exact solution")  # fmt: skip
    data = definition(case)
    checks: list[Check] = []
    for test, ref in zip(data["test"], rows(case, "reference.csv"), strict=True):
        name = test["name"]
        specimen, varying = data["specimen"], data["varying"]
        plain = ConstantPermeability(specimen["permeability"])
        for words, vapour, film, key, bound in (
            ("constant permeability", plain, 0.0, "constant", 0.05),
            ("with films", plain, specimen["film"], "with_films", 0.05),
            ("permeability over humidity", PowerPermeability(**varying), 0.0, "varying", 0.1),
        ):
            result = _cup(test, vapour, film)
            checks.append(
                compare(
                    case, f"{name}, {words}", result.ledger.vapour_outside[-1] / 3600.0,
                    float(ref[key]), bound, unit="kg/(m²·s)", origin=origin, relative=True,
                    reason="steady: closing of Newton's iteration"
                    if bound < 0.1
                    else "second-order error of 60 cells in the mean permeability",
                )
            )  # fmt: skip
        middle = PchipInterpolator(result.grid.node, result.rh[-1])(0.5 * specimen["thickness"])
        checks.append(
            compare(
                case, f"{name}, humidity in the middle", float(middle),
                float(ref["middle_humidity"]), 5e-4, unit="1", origin=origin,
                reason="the accuracy promised for default settings",
            )
        )  # fmt: skip
    return Outcome(tuple(checks))


def _cup(test: dict[str, float], vapour: Any, film: float) -> Run:
    data = definition("cup_tests")
    T = data["case"]["temperature"]
    # next to no storage, so that 200 h are steady
    material = _material("cup", storage=LinearStorage(0.05), vapour=vapour)
    thickness = data["specimen"]["thickness"]
    start = Initial(rh=0.5 * (test["dry"] + test["humid"]), temperature=T)
    wall = _wall(material, thickness, start, imposed=film == 0.0)
    beta = 2.0 / film if film else 1.0
    loads = constant_loads(
        200, air(T, test["humid"]), air(T, test["dry"]), outdoor_coefficients=(1e3, beta),
        indoor_coefficients=(1e3, beta),
    )  # fmt: skip
    cells = {"specimen": np.full(60, thickness / 60)}
    return run(wall, loads, Settings(tolerance=0.1, min_step=1e-6), cells=cells)


def buffering() -> Outcome:
    """Moisture exchanged in a sine and in an 8 h/16 h cycle."""
    case = "moisture_buffer"
    origin = Origin("Nordtest protocol, Rode et al. 2005 (from memory), series over harmonics",
                    "exact solution")  # fmt: skip
    values = {row["quantity"]: float(row["value"]) for row in rows(case, "reference.csv")}
    data = definition(case)
    low, high = data["case"]["low"], data["case"]["high"]
    period, cycles = 24 * STRETCH, 8
    hour = np.arange(cycles * period + 1) % period
    sine = 0.5 * (low + high) + 0.5 * (high - low) * np.sin(2.0 * np.pi * hour / period)
    # ramps of one hour of the day: up from 0 to 1, down from 8 to 9
    corners = np.array([0.0, 1.0, 8.0, 9.0, 24.0]) * STRETCH
    ramped = np.interp(hour, corners, [low, high, high, low, low])
    checks = []
    lines = []
    for words, wave, key in (
        ("sine cycle", sine, "uptake_sine"),
        ("8 h high, 16 h low, ramps of 1 h", ramped, "uptake_ramped"),
    ):
        result = _buffer(wave)
        mass = result.w @ result.grid.thickness
        last = mass[-period - 1 :]
        swing = np.ptp(last) / np.sqrt(STRETCH)
        checks.append(
            compare(
                case, f"uptake, {words}", swing, values[key], 1.0, unit="kg/m²", origin=origin,
                relative=True, reason="cells of 0.1 mm at a face where the uptake decays in 1 mm",
                note=f"time stretched {STRETCH}-fold, uptake divided by √{STRETCH}",
            )
        )  # fmt: skip
        change = 1000.0 * (last - last[:-1].mean()) / np.sqrt(STRETCH)
        lines.append(Line(words, np.arange(period + 1) / STRETCH, change))
    clock = np.arange(25.0)
    exact = 500.0 * values["uptake_sine"] * np.sin(2.0 * np.pi * clock / 24.0 - np.pi / 4.0)
    lines.append(Line("sine cycle", clock, exact, True))
    picture = Picture(case, "Ideal moisture buffer, last cycle", "hour of the day",
                      "water in the specimen less its mean, g/m²", tuple(lines))  # fmt: skip
    return Outcome(tuple(checks), (picture,))


def _buffer(humidity: Array) -> Run:
    data = definition("moisture_buffer")
    material, case = data["material"], data["case"]
    T = case["temperature"]
    slope = material["density"] * material["sorption_slope"]
    body = _material("buffer", storage=LinearStorage(slope),
                     vapour=ConstantPermeability(material["permeability"]))  # fmt: skip
    depth = case["depth"] * np.sqrt(STRETCH)
    wall = _wall(body, depth, Initial(rh=float(humidity.mean()), temperature=T))
    loads: Loads = constant_loads(humidity.size - 1, air(T, 0.5), air(T, float(humidity.mean())))
    loads.outside.vapour_pressure[:] = 2.0 * loads.outside.vapour_pressure * humidity
    return run(wall, loads, Settings(tolerance=0.1), cells={"specimen": growing(depth, 1e-4, 1.05)})
