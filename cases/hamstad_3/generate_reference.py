"""Generate the reference series of HAMSTAD exercise 3 with the independent finite volumes.

Run `python cases/hamstad_3/generate_reference.py`; writes reference.csv.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

FOLDER = Path(__file__).parent
sys.path.insert(0, str(FOLDER.parent))

import reference_case as rc  # noqa: E402
import reference_fv as fv  # noqa: E402


def solve(level: int) -> tuple[np.ndarray, dict[str, np.ndarray]]:
    """Daily states at the output positions; x runs from inside."""
    case = rc.read_case(FOLDER)
    size = {"first": 2e-5, "growth": 1.25, "largest": 4e-3}
    widths = fv.graded(
        case["layer"][0]["thickness"],
        first=size["first"] / level,
        growth=size["growth"] ** (1.0 / level),
        largest=size["largest"] / level,
    )
    sides = {"left": "inside", "right": "outside"}
    wall, start = rc.build_wall(case, [widths], **sides)
    still = rc.constant_loads(case, **sides)[0]
    air = case["air"]
    loads = np.array([still] * len(air["times"]))
    loads[:, fv.TIME] = air["times"]
    loads[:, fv.AIR] = air["permeance"] * np.array(air["pressures"])
    times = np.arange(101) * 86400.0
    result = fv.integrate(wall, start, loads, times, rtol=1e-7, max_step=7200.0)
    places = case["case"]["output_positions"]
    found = {}
    for x in places:
        pick = [np.interp(x, result.position, row) for row in result.temperature]
        found[f"t_{x:.2f}"] = np.array(pick)
        pick = [np.interp(x, result.position, np.log(row)) for row in result.suction]
        found[f"rh_{x:.2f}"] = np.exp(-np.exp(pick) / fv.KELVIN_SCALE)
        found[f"w_{x:.2f}"] = np.array([np.interp(x, result.position, r) for r in result.content])
    found["total"] = result.content @ wall.width
    return times, found


def main() -> None:
    """Integrate on two grids and write the finer series with the difference."""
    (_, coarse), (times, fine) = solve(4), solve(8)
    change = {
        part: max(np.abs(fine[k] - coarse[k]).max() for k in fine if k.startswith(part))
        for part in ("t_", "rh_", "w_", "total")
    }
    columns = {"day": (times / 86400.0, ".0f")}
    forms = {"t": ".4f", "r": ".5f", "w": ".4f"}
    columns |= {name: (values, forms[name[0]]) for name, values in fine.items() if name != "total"}
    columns["total"] = (fine["total"], ".5f")
    rc.write_table(
        FOLDER / "reference.csv",
        [
            "HAMSTAD exercise 3 with STAND-IN sorption, permeability, liquid transport and air",
            "permeance (case.toml). Columns: day [d]; t [K], rh [-], w [kg/m3] at x [m] from",
            "inside; total moisture [kg/m2].",
            "Computed: independent finite volumes and CVODE (generate_reference.py); not a",
            "published result, the participants' curves are not available.",
            "Largest change from half the resolution: "
            + ", ".join(f"{name.strip('_')} {value:.2g}" for name, value in change.items()),
        ],
        columns,
    )


if __name__ == "__main__":
    main()
