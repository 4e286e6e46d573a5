"""Generate the reference profiles of HAMSTAD exercise 2: Fourier series, and the heat effect.

Run `python cases/hamstad_2/generate_reference.py`; writes reference.csv (exact, isothermal) and
latent_effect.csv (what evaporative cooling does to the same wall, independent finite volumes).
"""

from __future__ import annotations

import math
import sys
from pathlib import Path

import numpy as np

FOLDER = Path(__file__).parent
sys.path.insert(0, str(FOLDER.parent))

import reference_case as rc  # noqa: E402
import reference_fv as fv  # noqa: E402

HOURS = (100, 300, 1000)
X = np.array([0, 2, 5, 10, 20, 30, 50, 75, 100, 125, 150, 170, 180, 190, 195, 198, 200]) / 1000.0
TERMS = 4000


def sorption(material: dict, humidity: float) -> float:
    """Sorption curve, saturation (1 - ln(rh)/scale)^-exponent. [kg/m3]"""
    form = material["sorption"]
    base = 1.0 - math.log(humidity) / form["scale"]
    return form["saturation"] * base ** (-form["exponent"])


def fourier(case: dict, time: float) -> tuple[np.ndarray, float]:
    """Profile at X and mean over the layer, both faces held at their equilibrium content."""
    material = case["material"]["wall"]
    start = sorption(material, case["layer"][0]["initial_humidity"])
    left = sorption(material, case["outside"]["humidity"])
    right = sorption(material, case["inside"]["humidity"])
    thickness, diffusivity = case["layer"][0]["thickness"], material["liquid"]["value"]
    n = np.arange(1, TERMS + 1)
    coefficient = 2.0 / (np.pi * n) * ((start - left) - (start - right) * (-1.0) ** n)
    decay = np.exp(-((np.pi * n / thickness) ** 2) * diffusivity * time)
    waves = np.sin(np.pi * n * X[:, None] / thickness)
    profile = left + (right - left) * X / thickness + waves @ (coefficient * decay)
    means = coefficient * decay * (1.0 - (-1.0) ** n) / (np.pi * n)
    return profile, 0.5 * (left + right) + float(means.sum())


def cooled(case: dict, level: int) -> np.ndarray:
    """Profiles with evaporative cooling, the wall exchanging heat with 20 °C air."""
    thickness = case["layer"][0]["thickness"]
    widths = fv.graded(
        thickness, first=1e-4 / level, growth=1.1 ** (1.0 / level), largest=4e-3 / level
    )
    wall, start = rc.build_wall(case, [widths])
    times = np.array([0, *HOURS]) * 3600.0
    result = fv.integrate(wall, start, rc.constant_loads(case), times, rtol=1e-7)
    return np.array([np.interp(X, result.position, row) for row in result.content[1:]])


def main() -> None:
    """Write both tables."""
    case = rc.read_case(FOLDER)
    exact = [fourier(case, hour * 3600.0) for hour in HOURS]
    columns = {f"w_{hour}": (found[0], ".4f") for hour, found in zip(HOURS, exact, strict=True)}
    means = ", ".join(f"{h} h {found[1]:.4f}" for h, found in zip(HOURS, exact, strict=True))
    rc.write_table(
        FOLDER / "reference.csv",
        [
            "HAMSTAD exercise 2: exact isothermal Fourier solution (4000 terms) of the equations",
            "as remembered; computed by generate_reference.py.",
            "x from the 45 % side [m], w [kg/m3] at 100, 300, 1000 h.",
            f"Layer mean [kg/m3]: {means}",
        ],
        {"x": (X, ".3f")} | columns,
    )
    fine, coarse = cooled(case, 4), cooled(case, 2)
    inner = (X > 0.0) & (X < 0.2)
    shift = fine - np.array([found[0] for found in exact])
    rc.write_table(
        FOLDER / "latent_effect.csv",
        [
            "HAMSTAD exercise 2 with heat of evaporation taken from the wall (not part of the",
            "exercise): change of w [kg/m3] against the isothermal solution. Computed:",
            "independent finite volumes (generate_reference.py); largest change from half the",
            f"resolution {np.abs(fine - coarse)[:, inner].max():.2g} kg/m3",
        ],
        {"x": (X[inner], ".3f")}
        | {f"dw_{hour}": (row[inner], ".4f") for hour, row in zip(HOURS, shift, strict=True)},
    )


if __name__ == "__main__":
    main()
