"""Generate the dynamic thermal quantities of the walls of the case with transfer matrices.

Run `python cases/periodic_transmission/generate_reference.py`; writes reference.csv.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

FOLDER = Path(__file__).parent
sys.path.insert(0, str(FOLDER.parent))

import reference_case as rc  # noqa: E402

from hygro.proof.references import transfer_matrix as tm  # noqa: E402


def main() -> None:
    """Write the table."""
    data = rc.read_case(FOLDER)
    case = data["case"]
    lines = [
        "# ISO 13786:2007 quantities (formulas from memory), period one day; computed.",
        "# W/(m2 K), h (lead positive), J/(m2 K); side 1 inside, side 2 outside.",
        "wall,u,y12,f,shift12,y11,lead11,y22,lead22,kappa1,kappa2",
    ]
    for wall in data["wall"]:
        layers = [
            tm.Layer(row["thickness"], row["conductivity"], row["heat_capacity"])
            for row in wall["layers"]
        ]
        found = tm.periodic_wall(
            layers,
            inside_resistance=case["inside_resistance"],
            outside_resistance=case["outside_resistance"],
            period=case["period"],
        )
        numbers = [found.steady, abs(found.transmittance), found.decrement]
        numbers.append(tm.time_shift(found.transmittance) / 3600.0)
        for admittance in (found.admittance_inside, found.admittance_outside):
            numbers += [abs(admittance), tm.time_shift(admittance) / 3600.0]
        numbers += [found.capacity_inside, found.capacity_outside]
        lines.append(",".join([wall["name"], *(f"{np.round(value, 6):.6g}" for value in numbers)]))
    (FOLDER / "reference.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
