"""Generate front, temperatures and heat extracted while a wet half space freezes.

Run `python cases/stefan_two_phase/generate_reference.py`; writes reference.csv and
reference_front.csv.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

FOLDER = Path(__file__).parent
sys.path.insert(0, str(FOLDER.parent))

import reference_case as rc  # noqa: E402

from hygro.proof.references import stefan  # noqa: E402

X = np.array([0.0, 0.01, 0.02, 0.05, 0.10, 0.15, 0.20, 0.30, 0.50, 1.0])


def freezing_case(data: dict) -> stefan.FreezingCase:
    """The case file as numbers of the solution."""
    material = data["material"]
    content = material["content"]
    return stefan.FreezingCase(
        frozen_conductivity=material["frozen_conductivity"],
        liquid_conductivity=material["liquid_conductivity"],
        frozen_capacity=material["dry_heat_capacity"] + content * material["ice_heat"],
        liquid_capacity=material["dry_heat_capacity"] + content * material["water_heat"],
        latent=content * material["fusion_heat"],
        surface=data["surface"]["temperature"],
        freezing=material["freezing"],
        initial=data["initial"]["temperature"],
    )


def main() -> None:
    """Write both tables."""
    data = rc.read_case(FOLDER)
    case = freezing_case(data)
    times = np.array(data["case"]["output_times"])
    note = [
        "Neumann's solution, Carslaw & Jaeger 1959 section 11.2 (from memory); computed.",
        f"Front at 2 k sqrt(a t), k = {stefan.front_constant(case):.8f}, a of the frozen zone.",
    ]
    columns = {
        f"t_{time / 3600.0:.0f}h": (stefan.temperature(case, X, time), ".5f") for time in times
    }
    rc.write_table(
        FOLDER / "reference.csv",
        [*note, "x [m], temperature [K] after the hours in the names."],
        {"x": (X, ".3f")} | columns,
    )
    heat = np.array([stefan.heat_extracted(case, time) for time in times])
    rc.write_table(
        FOLDER / "reference_front.csv",
        [*note, "time [s], depth of the front [m], heat extracted through the face [J/m2]."],
        {
            "time": (times, ".0f"),
            "front": (stefan.front_position(case, times), ".6f"),
            "heat": (heat, ".1f"),
        },
    )


if __name__ == "__main__":
    main()
