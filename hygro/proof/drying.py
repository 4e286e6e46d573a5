"""HAMSTAD exercise 2, isothermal drying, against its exact series. Owns the set-up of this case."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from scipy.interpolate import PchipInterpolator

from hygro.material.thermal import ConstantConductivity
from hygro.proof.check import Check, Line, Origin, Outcome, Picture, compare
from hygro.proof.inputs import air, both_ways, case_wall, definition, porous, table
from hygro.solve.march import run
from hygro.solve.settings import Settings
from hygro.wall.assembly import Wall
from hygro.wall.loads import constant_loads

CASE = "hamstad_2"
HOURS = (100, 300, 1000)
ORIGIN = Origin(
    "Hagentoft 2002, R-02:8 exercise 2 (from memory), Fourier series", "exact solution, computed"
)
ISOTHERMAL = 1e5
"""Conductivity that holds the exercise's one temperature: evaporation of 1e-5 kg/(m²·s) then cools
the middle by 1e-5 K. With 0.15 W/(m·K) the face cools and w near it is up to 0.17 kg/m³ higher
after 100 h (latent_effect.csv), which the series does not know. [W/(m·K)]"""
WHY = "grid error of 0.5 mm cells at the faces; the series is exact to the digits printed"


def drying() -> Outcome:
    """Profiles at 100, 300 and 1000 h and the mean content."""
    result = run(
        _wall(),
        constant_loads(max(HOURS), *_airs()),
        Settings(min_step=1e-4),
        cells={"wall": both_ways(0.2, 5e-4, 1.12)},
    )
    reference = table(CASE, "reference.csv")
    x = reference["x"]
    checks: list[Check] = []
    lines = []
    material = porous(CASE, "wall")
    ends = [float(material.water_content(_humidity(side))) for side in ("outside", "inside")]
    for hour in HOURS:
        depth = np.r_[0.0, result.grid.depth, 0.2]
        profile = PchipInterpolator(depth, np.r_[ends[0], result.w[hour], ends[1]])
        checks.append(
            compare(
                CASE, f"content at {hour} h", profile(x), reference[f"w_{hour}"], 0.2,
                unit="kg/m³", origin=ORIGIN, reason=WHY, relative=True, at=x,
                note=f"run with λ = {ISOTHERMAL:g} W/(m·K) so that the wall stays isothermal",
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
    return Outcome(tuple(checks), (picture,))


def _humidity(side: str) -> float:
    return float(definition(CASE)[side]["humidity"])


def _airs() -> tuple[tuple[float, float], tuple[float, float]]:
    data = definition(CASE)
    outside, inside = (
        air(data[side]["temperature"], data[side]["humidity"]) for side in ("outside", "inside")
    )
    return outside, inside


def _wall() -> Wall:
    wall = case_wall(CASE, imposed=True)
    layer = wall.layers[0]
    material = replace(layer.material, thermal=ConstantConductivity(ISOTHERMAL))
    return replace(wall, elements=(replace(layer, material=material),))
