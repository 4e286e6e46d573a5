"""Generate the uptake and the profiles for an exponential diffusivity.

Run `python cases/exponential_diffusivity_uptake/generate_reference.py`; writes reference.csv and
reference_mass.csv, both for D with the literature constant 3.8.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

FOLDER = Path(__file__).parent
sys.path.insert(0, str(FOLDER.parent))

import reference_case as rc  # noqa: E402

from hygro.proof.references import uptake  # noqa: E402

X = np.array([0.0, 0.005, 0.01, 0.02, 0.03, 0.04, 0.06, 0.08, 0.10, 0.12])


def main() -> None:
    """Write both tables."""
    case = rc.read_case(FOLDER)
    full = case["material"]["capillary_content"]
    coefficient = case["material"]["uptake_coefficient"]
    literature = case["diffusivity"]["literature_constant"]
    found = uptake.solve_exponential(case["diffusivity"]["ratio"])
    wet = literature * (coefficient / full) ** 2
    simulated = found.uptake * full * np.sqrt(wet)
    times = np.array(case["case"]["output_times"])
    note = [
        "Similarity solution by collocation from a dry start, D = D1 1000^(w/w_f - 1) with",
        f"D1 = {literature} (A/w_f)^2 = {wet:.6e} m2/s; computed. The constant that returns A",
        f"itself is {found.constant:.5f}; with {literature} the uptake coefficient is",
        f"{simulated:.6f} instead of {coefficient} kg/(m2 s^0.5),",
        f"{simulated / coefficient - 1:+.3%}.",
    ]
    columns = {
        f"w_{time / 3600.0:.0f}h": (full * found.profile(X, time, wet_diffusivity=wet), ".4f")
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
        {"time": (times, ".0f"), "mass": (simulated * np.sqrt(times), ".5f")},
    )


if __name__ == "__main__":
    main()
