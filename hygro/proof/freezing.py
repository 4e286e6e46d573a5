"""Freezing fronts against Neumann's solution. Owns the set-up; no moisture moves."""

from __future__ import annotations

import numpy as np

from hygro.material.model import Material
from hygro.material.storage import VanGenuchten
from hygro.material.thermal import ConstantConductivity
from hygro.material.vapour import ConstantPermeability
from hygro.proof.check import Check, Line, Origin, Outcome, Picture, compare
from hygro.proof.inputs import TIGHT, air, bare, definition, from_surface, growing, table
from hygro.solve.march import run
from hygro.solve.settings import Settings
from hygro.wall.elements import Initial, Layer
from hygro.wall.loads import constant_loads
from hygro.wall.surfaces import Inside
from hygro.wall.wall import Wall

ORIGIN = Origin("Carslaw & Jaeger 1959, 11.2 (from memory)", "exact solution")
RANGE = (
    "the engine freezes over 0.2 K below 0 °C, the solution at a point: 0.1 K less of the 10 K "
    "that drive is 0.5 % of the front, twice that where heat from below counts against it; the "
    "conductivity changes over 0.5 K"
)


def one_phase() -> Outcome:
    """Start at the freezing point."""
    return _front("stefan_one_phase")


def two_phase() -> Outcome:
    """Start 10 K above it."""
    return _front("stefan_two_phase")


def _material(case: str) -> Material:
    data = definition(case)["material"]
    w = data["content"]
    ratio = data["frozen_conductivity"] / data["liquid_conductivity"]
    freezing = data["freezing"]
    return Material(
        key=case,
        name=case,
        group="benchmark",
        density=1000.0,
        heat_capacity=data["dry_heat_capacity"] / 1000.0,
        pore_volume=w / 1000.0,
        # empties at a suction of 1 kPa, that is 1 mK of freezing-point depression
        storage=VanGenuchten(w, ((1.0, 1e-3, 5.0, 0.8),)),
        vapour=ConstantPermeability(TIGHT),
        thermal=ConstantConductivity(
            data["liquid_conductivity"],
            # both ends held: constant in each phase, changing over half a kelvin below 0 °C
            ((200.0, ratio), (freezing - 0.5, ratio), (freezing, 1.0), (340.0, 1.0)),
        ),
    )


def _front(case: str) -> Outcome:
    data = definition(case)
    T0, T1 = data["initial"]["temperature"], data["surface"]["temperature"]
    depth = data["case"]["depth"]
    wall = Wall(
        case,
        (
            Layer(
                _material(case),
                depth,
                name="ground",
                thick=True,
                initial=Initial(rh=1.0, temperature=T0),
            ),
        ),
        outside=bare(imposed=True),
        inside=Inside(imposed=True),
    )
    loads = constant_loads(96, air(T1, 1.0), air(T0, 1.0))
    cells = {"ground": growing(depth, 1e-3, 1.02, 4e-3)}
    result = run(wall, loads, Settings(min_step=1e-4), cells=cells)
    fronts, reference = table(case, "reference_front.csv"), table(case, "reference.csv")
    hours = (fronts["time"] / 3600.0).astype(int)
    ice = result.ice[hours] @ result.grid.thickness / data["material"]["content"]
    taken = -np.cumsum(result.ledger.energy_outside)[hours - 1]
    checks: list[Check] = [
        compare(
            case, "front, from the mass of ice", ice, fronts["front"], 1.5, unit="m",
            origin=ORIGIN, relative=True, at=hours, at_unit="h", reason=RANGE,
        ),
        compare(
            case, "heat taken out", taken, fronts["heat"], 1.5, unit="J/m²", origin=ORIGIN,
            relative=True, at=hours, at_unit="h", reason=RANGE,
        ),
    ]  # fmt: skip
    x = reference["x"]
    lines = []
    for hour in (6, 24, 96):
        profile = from_surface(result.grid, T1, result.T[hour])
        checks.append(
            compare(
                case, f"temperature at {hour} h", profile(x), reference[f"t_{hour}h"], 0.2,
                unit="K", origin=ORIGIN, at=x,
                reason="the freezing range of 0.2 K is the resolution near the front",
            )
        )  # fmt: skip
        fine = np.linspace(0.0, 1.0, 400)
        lines += [Line(f"{hour} h", fine, profile(fine)),
                  Line(f"{hour} h", x, reference[f"t_{hour}h"], True)]  # fmt: skip
    picture = Picture(case, f"Freezing front, {case.split('_')[1]} phase", "depth, m",
                      "temperature, K", tuple(lines))  # fmt: skip
    return Outcome(tuple(checks), (picture,))
