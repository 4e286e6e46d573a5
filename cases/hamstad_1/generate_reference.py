"""Generate the reference series of HAMSTAD exercise 1 with the independent finite volumes.

Run `python cases/hamstad_1/generate_reference.py` after generate_loads.py (three minutes);
writes reference_mass.csv and reference_heat.csv.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

FOLDER = Path(__file__).parent
sys.path.insert(0, str(FOLDER.parent))

import reference_case as rc  # noqa: E402
import reference_fv as fv  # noqa: E402

DAY = 86400.0
YEARS = 5


def load_table() -> np.ndarray:
    """Five years of loads: (time, T left, p left, T right, p right, air)."""
    data = rc.read_table(FOLDER / "loads.csv")
    hours = np.arange(8760 * YEARS + 1)
    pick = hours % 8760
    table = np.zeros((hours.size, 6))
    table[:, fv.TIME] = 3600.0 * hours
    table[:, fv.T_LEFT] = data["t_equivalent"][pick]
    table[:, fv.P_LEFT] = 1000.0  # unused: no vapour passes the barrier
    table[:, fv.T_RIGHT] = data["t_inside"][pick]
    table[:, fv.P_RIGHT] = data["p_inside"][pick]
    return table


def solve(level: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Daily layer masses over five years and daily mean heat to the inside in year 1."""
    case = rc.read_case(FOLDER)
    widths = [
        fv.graded(
            layer["thickness"], first=1e-4 / level, growth=1.3 ** (1 / level), largest=6e-3 / level
        )
        for layer in case["layer"]
    ]
    wall, start = rc.build_wall(case, widths)
    table = load_table()
    hourly = np.arange(8761) * 3600.0
    first = fv.integrate(wall, start, table, hourly, rtol=1e-6, max_step=3600.0)
    heat = fv.boundary_fluxes(wall, first, table)[:, 1]
    mean = 0.5 * (heat[1:] + heat[:-1]).reshape(365, 24).mean(axis=1)
    daily = np.arange(365, 365 * YEARS + 1) * DAY
    restart = np.empty_like(start)
    restart[::2], restart[1::2] = first.temperature[-1], np.log(first.suction[-1])
    rest = fv.integrate(wall, restart, table, daily, rtol=1e-6, max_step=3600.0)
    content = np.vstack([first.content[::24], rest.content[1:]])
    split = widths[0].size
    masses = [content[:, part] @ wall.width[part] for part in (slice(split), slice(split, None))]
    return np.array(masses), mean, wall.width


def main() -> None:
    """Integrate on two grids and write the finer series with the difference."""
    (coarse, coarse_heat, _), (fine, heat, _) = solve(2), solve(4)
    change = np.abs(fine - coarse).max(axis=1)
    note = [
        "HAMSTAD exercise 1 with the STAND-IN climate of loads.csv.",
        "Computed: independent finite volumes and CVODE (generate_reference.py); not a published",
        "result, the published climate and the participants' curves are not available.",
    ]
    days = np.arange(fine.shape[1])
    keep = days % 5 == 0
    rc.write_table(
        FOLDER / "reference_mass.csv",
        [
            *note,
            "day [d], moisture in the load-bearing layer and in the insulation [kg/m2]. Largest",
            f"change from half the resolution: {change[0]:.2g} and {change[1]:.2g} kg/m2",
        ],
        {
            "day": (days[keep], ".0f"),
            "load_bearing": (fine[0][keep], ".5f"),
            "insulation": (fine[1][keep], ".6f"),
        },
    )
    rc.write_table(
        FOLDER / "reference_heat.csv",
        [
            *note,
            "day [d] of year 1, daily mean heat flux towards the inside air [W/m2] (trapezoids of",
            "hourly values). Largest change from half the resolution: "
            f"{np.abs(heat - coarse_heat).max():.2g} W/m2",
        ],
        {"day": (np.arange(365), ".0f"), "heat_to_inside": (heat, ".5f")},
    )


if __name__ == "__main__":
    main()
