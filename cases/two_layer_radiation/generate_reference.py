"""Generate the steady temperatures of the radiating wall by a root find.

Run `python cases/two_layer_radiation/generate_reference.py`; writes reference.csv.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

FOLDER = Path(__file__).parent
sys.path.insert(0, str(FOLDER.parent))

import reference_case as rc  # noqa: E402

from hygro.proof.references import conduction  # noqa: E402


def main() -> None:
    """Write the table."""
    data = rc.read_case(FOLDER)
    wall = data["wall"]
    resistances = tuple(row["thickness"] / row["conductivity"] for row in wall["layers"])
    lines = [
        "# Root of the surface heat balance; computed. Temperatures [K] of the outer surface, the",
        "# joint and the inner surface, and the heat flux inward [W/m2].",
        "climate,t_outer,t_joint,t_inner,flux",
    ]
    for climate in data["climate"]:
        case = conduction.RadiatingWall(
            resistances=resistances,
            outside_coefficient=wall["outside_heat"],
            inside_coefficient=wall["inside_heat"],
            emissivity=wall["emissivity"],
            sky_view=wall["sky_view"],
            ground_view=wall["ground_view"],
            **{key: climate[key] for key in ("outside", "sky", "ground", "inside", "absorbed")},
        )
        found = conduction.radiating_wall_temperatures(case)
        flux = wall["inside_heat"] * (found[-1] - climate["inside"])
        numbers = [f"{value:.5f}" for value in np.append(found, flux)]
        lines.append(",".join([climate["name"], *numbers]))
    (FOLDER / "reference.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
