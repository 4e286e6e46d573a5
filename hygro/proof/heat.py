"""Heat conduction against exact solutions: step, periodic wall, radiating surface. No moisture."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from hygro.constants import STEFAN_BOLTZMANN
from hygro.proof.check import Array, Check, Line, Origin, Outcome, Picture, compare
from hygro.proof.inputs import air, bare, definition, from_surface, growing, rows, solid, table
from hygro.proof.references.transfer_matrix import time_shift
from hygro.solve.march import run
from hygro.solve.settings import Settings
from hygro.wall.elements import Initial, Layer
from hygro.wall.loads import Loads, constant_loads
from hygro.wall.surfaces import Inside
from hygro.wall.wall import Wall

DRY_RH = 0.5
"""Any humidity: nothing moves in these walls."""
NO_VAPOUR = 1e-20
"""Film that lets no vapour pass. [kg/(m²·s·Pa)]"""
DAY = 24


def step() -> Outcome:
    """Air temperature step at a half space with a surface coefficient."""
    case = "heat_step_surface_coefficient"
    origin = Origin("Carslaw & Jaeger 1959, 2.7 (from memory)", "exact solution")
    data = definition(case)
    T0, T1, h = data["initial"]["temperature"], data["surface"]["temperature"], data["surface"]
    material = solid("solid", data["material"]["conductivity"], data["material"]["heat_capacity"])
    wall = Wall(
        case,
        (
            Layer(
                material,
                data["case"]["depth"],
                name="solid",
                thick=True,
                initial=Initial(DRY_RH, temperature=T0),
            ),
        ),
        outside=bare(),
        inside=Inside(imposed=True),
    )
    loads = constant_loads(
        DAY, air(T1, DRY_RH), air(T0, DRY_RH), outdoor_coefficients=(h["heat"], NO_VAPOUR)
    )
    result = run(wall, loads, Settings(tolerance=0.1), cells={"solid": growing(2.0, 1e-3, 1.05)})
    reference, heat = table(case, "reference.csv"), table(case, "reference_heat.csv")
    x = reference["x"]
    checks: list[Check] = []
    lines = []
    for hour in (1, 6, 24):
        profile = from_surface(result.grid, result.interface_T[hour, 0, 1], result.T[hour])
        checks.append(
            compare(
                case, f"temperature at {hour} h", profile(x), reference[f"t_{hour}h"], 0.02,
                unit="K", origin=origin, at=x,
                reason="the accuracy promised for default settings, 0.2 % of the step",
            )
        )  # fmt: skip
        fine = np.linspace(0.0, 0.3, 200)
        lines += [Line(f"{hour} h", fine, profile(fine)),
                  Line(f"{hour} h", x, reference[f"t_{hour}h"], True)]  # fmt: skip
    taken = np.cumsum(result.ledger.energy_outside)[[0, 5, 23]]
    checks.append(
        compare(
            case, "heat that has entered, 1-24 h", taken, heat["heat"], 0.2, unit="J/m²",
            origin=origin, relative=True, at=heat["time"] / 3600.0, at_unit="h",
            reason="time error of the first steps after the jump",
        )
    )  # fmt: skip
    picture = Picture(case, "Air temperature step at a half space", "depth, m", "temperature, K",
                      tuple(lines))  # fmt: skip
    return Outcome(tuple(checks), (picture,))


def periodic() -> Outcome:
    """Decrement, time shift and admittances of three walls (ISO 13786)."""
    case = "periodic_transmission"
    origin = Origin("ISO 13786:2007 (formulas from memory)", "exact solution")
    checks: list[Check] = []
    for entry in definition(case)["wall"]:
        name = entry["name"]
        ref = next(r for r in rows(case, "reference.csv") if r["wall"] == name)
        out, both = _responses(entry["layers"], drive=0), _responses(entry["layers"], drive=1)
        found = {
            "decrement factor f": (abs(out[1]) / float(ref["u"]), ref["f"], "1"),
            "admittance inside |Y11|": (abs(both[1]), ref["y11"], "W/(m²·K)"),
            "admittance outside |Y22|": (abs(out[0]), ref["y22"], "W/(m²·K)"),
        }
        checks += [
            compare(
                case, f"{what}, {name}", ours, float(text), 0.5, unit=unit, origin=origin,
                relative=True, reason="accuracy asked for; cells of 1 mm and hourly steps",
                note="the load is the sine's hourly polygon; both sides of the ratio use its "
                "first harmonic, 0.57 % below the sine's",
            )
            for what, (ours, text, unit) in found.items()
        ]  # fmt: skip
        shift = time_shift(-out[1]) / 3600.0
        checks.append(
            compare(
                case, f"time shift, {name}", shift, float(ref["shift12"]), 0.05, unit="h",
                origin=origin, reason="3 min: a twentieth of the hour in which loads are given",
            )
        )  # fmt: skip
    return Outcome(tuple(checks))


def _responses(layers: list[dict[str, float]], drive: int) -> tuple[complex, complex]:
    """Complex flux into the wall at both faces per kelvin of a daily sine on one side."""
    data = definition("periodic_transmission")["case"]
    mean, size, days = 293.15, 5.0, 30
    parts = tuple(
        Layer(
            solid(f"m{k}", x["conductivity"], x["heat_capacity"]),
            x["thickness"],
            name=f"layer {k}",
            initial=Initial(DRY_RH, temperature=mean),
        )
        for k, x in enumerate(reversed(layers))
    )
    wall = Wall("periodic", parts, outside=bare())
    state = air(mean, DRY_RH)
    loads = constant_loads(
        24 * days, state, state,
        outdoor_coefficients=(1 / data["outside_resistance"], NO_VAPOUR),
        indoor_coefficients=(1 / data["inside_resistance"], NO_VAPOUR),
    )  # fmt: skip
    wave = np.sin(2.0 * np.pi * np.arange(24 * days + 1) / 24.0)
    (loads.outside, loads.inside)[drive].temperature[:] += size * wave
    cells = {p.name: growing(p.thickness, min(1e-3, p.thickness / 4), 1.0, 2e-3) for p in parts}
    result = run(wall, loads, Settings(tolerance=0.01), cells=cells)
    fluxes = (result.ledger.energy_outside, result.ledger.energy_inside)
    load = _polygon_harmonic(size)
    outside, inside = (_mean_harmonic(f[-24:] / 3600.0) / load for f in fluxes)
    return outside, inside


def _polygon_harmonic(size: float) -> complex:
    """First harmonic of the polygon through hourly samples of size·sin(ωt)."""
    return -1j * size * np.sinc(1.0 / 24.0) ** 2


def _mean_harmonic(means: Array) -> complex:
    """First harmonic of a flux from its 24 hourly means: the mean of an hour keeps sinc(1/24)."""
    middle = np.arange(24) + 0.5
    wave = np.exp(-2j * np.pi * middle / 24.0)
    return complex(2.0 / 24.0 * np.sum(means * wave) / np.sinc(1.0 / 24.0))


def radiation() -> Outcome:
    """Steady two-layer wall whose surface exchanges longwave with sky and ground."""
    case = "two_layer_radiation"
    origin = Origin("surface heat balance, its root", "exact solution")
    data = definition(case)["wall"]
    layers = tuple(
        Layer(
            solid(x["name"], x["conductivity"], 1e5),
            x["thickness"],
            name=x["name"],
            initial=Initial(DRY_RH, temperature=283.15),
        )
        for x in data["layers"]
    )
    wall = Wall(case, layers, outside=replace(bare(), emissivity=data["emissivity"]))
    checks = []
    for climate, ref in zip(definition(case)["climate"], rows(case, "reference.csv"), strict=True):
        result = run(wall, _radiation_loads(data, climate))
        ours = [
            result.interface_T[-1, 0, 1],
            result.interface_T[-1, 1, 0],
            result.interface_T[-1, 2, 0],
        ]
        theirs = [float(ref[key]) for key in ("t_outer", "t_joint", "t_inner")]
        checks.append(
            compare(
                case, f"temperatures of three planes, {climate['name']}", ours, theirs, 0.005,
                unit="K", origin=origin,
                reason="piecewise linear temperatures are exact on any grid; what is left is the "
                "closing of Newton's iteration",
            )
        )  # fmt: skip
        checks.append(
            compare(
                case, f"heat flux inward, {climate['name']}",
                result.ledger.energy_outside[-1] / 3600.0, float(ref["flux"]), 0.01,
                unit="W/m²", origin=origin, reason="0.005 K over the film of 12 W/(m²·K), halved",
            )
        )  # fmt: skip
    return Outcome(tuple(checks))


def _radiation_loads(data: dict[str, float], climate: dict[str, float]) -> Loads:
    loads = constant_loads(
        400, air(climate["outside"], DRY_RH), air(climate["inside"], DRY_RH),
        outdoor_coefficients=(data["outside_heat"], NO_VAPOUR),
        indoor_coefficients=(data["inside_heat"], NO_VAPOUR),
    )  # fmt: skip
    incoming = data["sky_view"] * climate["sky"] ** 4 + data["ground_view"] * climate["ground"] ** 4
    absorbed = climate["absorbed"] + data["emissivity"] * STEFAN_BOLTZMANN * incoming
    loads.outside.radiation[:] = absorbed
    return loads
