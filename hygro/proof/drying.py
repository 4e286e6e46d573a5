"""HAMSTAD exercise 2, isothermal drying, against its exact series. Owns the set-up of this case."""

from __future__ import annotations

import numpy as np
from scipy.interpolate import PchipInterpolator

from hygro.proof.check import Check, Line, Origin, Outcome, Picture, compare
from hygro.proof.inputs import air, both_ways, case_wall, definition, porous, still_loads, table
from hygro.solve.march import run
from hygro.solve.settings import Settings
from hygro.wall.loads import constant_loads

CASE = "hamstad_2"
HOURS = (100, 300, 1000)
ORIGIN = Origin("Hagentoft 2002, R-02:8 exercise 2 (from memory), Fourier series", "exact solution")
COOLED = Origin(
    "the series plus evaporative cooling by finite volumes and CVODE (latent_effect.csv)",
    "own independent implementation",
)
WHY = "grid error of 0.5 mm cells at the faces; the series is exact to the digits printed"
CELLS = {"wall": both_ways(0.2, 5e-4, 1.12)}


def drying() -> Outcome:
    """Profiles at 100, 300 and 1000 h: isothermal, and cooled by evaporation behind a film.

    The exercise is isothermal. With the state of both faces imposed, water evaporates at a face of
    20 °C and the wall stays at 20 °C, as the series has it. With the film of 25 W/(m²·K) the wall
    cools a little and dries more slowly, which the second run must show.
    """
    wall, loads = case_wall(CASE, imposed=True), constant_loads(max(HOURS), *_airs())
    result = run(wall, loads, Settings(min_step=1e-4), cells=CELLS)
    reference = table(CASE, "reference.csv")
    x = reference["x"]
    checks: list[Check] = []
    lines = []
    material = porous(CASE, "wall")
    ends = [float(material.water_content(_humidity(side))) for side in ("outside", "inside")]
    for hour in HOURS:
        depth = np.r_[0.0, result.grid.node, 0.2]
        profile = PchipInterpolator(depth, np.r_[ends[0], result.w[hour], ends[1]])
        checks.append(
            compare(
                CASE, f"content at {hour} h", profile(x), reference[f"w_{hour}"], 0.2,
                unit="kg/m³", origin=ORIGIN, reason=WHY, relative=True, at=x,
                note="state of both faces imposed, so that the wall stays isothermal",
            )
        )  # fmt: skip
        fine = np.linspace(0.0, 0.2, 400)
        lines += [
            Line(f"{hour} h", fine, profile(fine)),
            Line(f"{hour} h", x, reference[f"w_{hour}"], True),
        ]
    picture = Picture(
        CASE, "HAMSTAD exercise 2, isothermal drying", "depth, m", "water content, kg/m³",
        tuple(lines),
    )  # fmt: skip
    return Outcome((*checks, *_cooled()), (picture,))


def _cooled() -> list[Check]:
    """The same wall behind its films of heat and vapour."""
    result = run(
        case_wall(CASE), still_loads(CASE, max(HOURS)), Settings(min_step=1e-4), cells=CELLS
    )
    exact, effect = table(CASE, "reference.csv"), table(CASE, "latent_effect.csv")
    x = effect["x"]
    found = []
    for hour in HOURS:
        isothermal = np.interp(x, exact["x"], exact[f"w_{hour}"])
        ours = PchipInterpolator(result.grid.node, result.w[hour])(x)
        found.append(
            compare(
                CASE, f"content at {hour} h, cooled by evaporation", ours,
                isothermal + effect[f"dw_{hour}"], 0.2, unit="kg/m³", origin=COOLED, reason=WHY,
                relative=True, at=x, note="films of 25 W/(m²·K) and 1e-3 s/m",
            )
        )  # fmt: skip
    return found


def _humidity(side: str) -> float:
    return float(definition(CASE)[side]["humidity"])


def _airs() -> tuple[tuple[float, float], tuple[float, float]]:
    data = definition(CASE)
    outside, inside = (
        air(data[side]["temperature"], data[side]["humidity"]) for side in ("outside", "inside")
    )
    return outside, inside
