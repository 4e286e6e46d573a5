"""Generate the uptake and the profiles for a constant diffusivity.

Run `python cases/constant_diffusivity_uptake/generate_reference.py`; writes reference.csv and
reference_mass.csv.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

FOLDER = Path(__file__).parent
sys.path.insert(0, str(FOLDER.parent))

import reference_case as rc  # noqa: E402

from hygro.proof.references import uptake  # noqa: E402

X = np.array([0.0, 0.005, 0.01, 0.02, 0.03, 0.05, 0.075, 0.10])


def main() -> None:
    """Write both tables."""
    case = rc.read_case(FOLDER)
    full = case["material"]["capillary_content"]
    coefficient = case["material"]["uptake_coefficient"]
    diffusivity = uptake.diffusivity_from_uptake(coefficient, full)
    times = np.array(case["case"]["output_times"])
    note = [
        "Similarity solution for constant diffusivity, exact; computed.",
        f"Diffusivity (pi/4)(A/w_f)^2 = {diffusivity:.6e} m2/s.",
    ]
    columns = {
        f"w_{time / 3600.0:.0f}h": (
            full * uptake.constant_profile(X, time, diffusivity=diffusivity),
            ".4f",
        )
        for time in times
    }
    rc.write_table(
        FOLDER / "reference.csv",
        [*note, "x [m], w [kg/m3] after the hours in the names."],
        {"x": (X, ".3f")} | columns,
    )
    rc.write_table(
        FOLDER / "reference_mass.csv",
        [*note, "time [s], mass taken up [kg/m2]."],
        {"time": (times, ".0f"), "mass": (coefficient * np.sqrt(times), ".5f")},
    )


if __name__ == "__main__":
    main()
