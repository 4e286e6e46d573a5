"""Generate the temperatures and the heat taken after a step of the air temperature.

Run `python cases/heat_step_surface_coefficient/generate_reference.py`; writes reference.csv and
reference_heat.csv.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

FOLDER = Path(__file__).parent
sys.path.insert(0, str(FOLDER.parent))

import reference_case as rc  # noqa: E402

from hygro.proof.references import conduction  # noqa: E402

X = np.array([0.0, 0.005, 0.01, 0.02, 0.05, 0.10, 0.20, 0.30])


def main() -> None:
    """Write both tables."""
    case = rc.read_case(FOLDER)
    solid = {
        "conductivity": case["material"]["conductivity"],
        "capacity": case["material"]["heat_capacity"],
        "coefficient": case["surface"]["heat"],
    }
    first = case["initial"]["temperature"]
    rise = case["surface"]["temperature"] - first
    note = ["Exact solution, Carslaw & Jaeger 1959 section 2.7 (from memory); computed."]
    times = case["case"]["output_times"]
    columns = {
        f"t_{time / 3600.0:.0f}h": (
            first + rise * conduction.step_with_coefficient(X, time, **solid),
            ".5f",
        )
        for time in times
    }
    rc.write_table(
        FOLDER / "reference.csv",
        [*note, "x [m], temperature [K] after the hours in the names."],
        {"x": (X, ".3f")} | columns,
    )
    taken = np.array([rise * conduction.step_heat_taken(time, **solid) for time in times])
    rc.write_table(
        FOLDER / "reference_heat.csv",
        [*note, "time [s], heat that has entered [J/m2]."],
        {"time": (np.array(times), ".0f"), "heat": (taken, ".2f")},
    )


if __name__ == "__main__":
    main()
