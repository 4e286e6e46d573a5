"""Generate the stand-in climate of HAMSTAD exercise 1; the published climate is not available.

Deterministic formulas, one year of 365 days, repeated five times by the reader. Run
`python cases/hamstad_1/generate_loads.py`; writes loads.csv.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

FOLDER = Path(__file__).parent
sys.path.insert(0, str(FOLDER.parent))

import reference_case as rc  # noqa: E402


def loads() -> dict[str, np.ndarray]:
    """Hourly outdoor equivalent temperature and indoor state, last sample equal to the first."""
    hour = np.arange(8761)
    year = 2.0 * np.pi * hour / 8760.0
    day = 2.0 * np.pi * (hour % 24) / 24.0
    season = -np.cos(year)  # coldest at the turn of the year
    # weather spells of 5 and 11.4 days: 73 and 32 whole periods in the year
    spells = 3.0 * np.sin(73.0 * year) + 2.5 * np.sin(32.0 * year + 1.0)
    sun = np.maximum(0.0, -np.cos(day)) * (11.0 + 9.0 * season)
    night = -4.0 * np.maximum(0.0, np.cos(day))  # sky radiation
    outside = 281.15 + 9.0 * season + spells + sun + night
    inside = 293.15 + 1.5 * (1.0 + season)
    pressure = 900.0 + 200.0 * season + 60.0 * np.sin(73.0 * year + 0.7)
    return {"outside": outside, "inside": inside, "pressure": pressure, "hour": hour}


def main() -> None:
    """Write loads.csv."""
    data = loads()
    rc.write_table(
        FOLDER / "loads.csv",
        [
            "STAND-IN climate for HAMSTAD exercise 1, made by generate_loads.py; no measured and",
            "no published value. Instantaneous values each hour, linear in between; the year",
            "repeats. hour [h], t_equivalent outdoor equivalent temperature [K], t_inside indoor",
            "air temperature [K], p_inside indoor vapour pressure [Pa].",
        ],
        {
            "hour": (data["hour"], ".0f"),
            "t_equivalent": (data["outside"], ".3f"),
            "t_inside": (data["inside"], ".3f"),
            "p_inside": (data["pressure"], ".2f"),
        },
    )


if __name__ == "__main__":
    main()
