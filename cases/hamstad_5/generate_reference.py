"""Generate the reference profiles of HAMSTAD exercise 5 with the independent finite volumes.

Run `python cases/hamstad_5/generate_reference.py`; writes reference.csv.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

FOLDER = Path(__file__).parent
sys.path.insert(0, str(FOLDER.parent))

import reference_case as rc  # noqa: E402
import reference_fv as fv  # noqa: E402

PROFILE = np.concatenate(
    [
        [0.01, 0.05, 0.10, 0.20, 0.30, 0.34, 0.355, 0.362],
        [0.366, 0.3685, 0.3725, 0.3765, 0.379],
        [0.381, 0.383, 0.386, 0.390, 0.395, 0.400, 0.405, 0.410, 0.415, 0.419],
    ]
)


def solve(level: int) -> fv.Result:
    """Integrate on a grid of level 1 (coarse), 2 (half the cells' size), ..."""
    case = rc.read_case(FOLDER)
    sizes = [
        {"first": 2e-5, "growth": 1.15, "largest": 6e-3},
        {"first": 2e-5, "growth": 1.15, "largest": 4e-4},
        {"first": 2e-5, "growth": 1.15, "largest": 6e-4},
    ]
    widths = [
        fv.graded(
            layer["thickness"],
            first=size["first"] / level,
            growth=size["growth"] ** (1.0 / level),
            largest=size["largest"] / level,
        )
        for layer, size in zip(case["layer"], sizes, strict=True)
    ]
    wall, start = rc.build_wall(case, widths)
    times = np.array([0.0, case["case"]["duration"]])
    return fv.integrate(wall, start, rc.constant_loads(case), times, rtol=1e-7)


def profile(result: fv.Result) -> dict[str, np.ndarray]:
    """Final state at the output positions."""
    psi = np.interp(PROFILE, result.position, np.log(result.suction[-1]))
    return {
        "temperature": np.interp(PROFILE, result.position, result.temperature[-1]),
        "rh": np.exp(-np.exp(psi) / fv.KELVIN_SCALE),
        "content": np.interp(PROFILE, result.position, result.content[-1]),
    }


def main() -> None:
    """Integrate on two grids and write the finer profile with the difference."""
    coarse, fine = profile(solve(2)), profile(solve(4))
    change = {name: np.abs(fine[name] - coarse[name]).max() for name in fine}
    rc.write_table(
        FOLDER / "reference.csv",
        [
            "HAMSTAD exercise 5, state after 60 days; x from outside [m], temperature [K],",
            "rh [-], content [kg/m3].",
            "Computed: independent finite volumes and CVODE (generate_reference.py); not a",
            "published result, the participants' curves are not available.",
            "Largest change from half the resolution: "
            + ", ".join(f"{name} {value:.2g}" for name, value in change.items()),
        ],
        {
            "x": (PROFILE, ".4f"),
            "temperature": (fine["temperature"], ".4f"),
            "rh": (fine["rh"], ".5f"),
            "content": (fine["content"], ".4f"),
        },
    )


if __name__ == "__main__":
    main()
