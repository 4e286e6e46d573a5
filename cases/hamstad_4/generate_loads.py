"""Generate the stand-in climate of HAMSTAD exercise 4; the published climate is not available.

Deterministic formulas over 120 h: sun on five days, three showers. Run
`python cases/hamstad_4/generate_loads.py`; writes loads.csv.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

FOLDER = Path(__file__).parent
sys.path.insert(0, str(FOLDER.parent))

import reference_case as rc  # noqa: E402

SHOWERS = ((10, 16, 8e-5), (34, 36, 4e-4), (58, 70, 5e-5))
"""First hour, end hour, rain on the wall [kg/(m2 s)]."""


def main() -> None:
    """Write loads.csv."""
    hour = np.arange(121)
    day = 2.0 * np.pi * (hour % 24) / 24.0
    clear = np.array([0.3, 1.0, 0.2, 1.0, 0.8, 0.8])[hour // 24]
    outside = 283.15 + 3.0 * np.sin(day - 2.3)
    outside += clear * 28.0 * np.maximum(0.0, -np.cos(day)) ** 1.5
    outside -= clear * 3.0 * np.maximum(0.0, np.cos(day))
    pressure_out = 950.0 + 80.0 * np.sin(day - 1.0)
    pressure_in = 1150.0 + 150.0 * np.sin(day - 3.0)
    rain = np.zeros(hour.size)
    for first, end, rate in SHOWERS:
        rain[first:end] = rate
    rc.write_table(
        FOLDER / "loads.csv",
        [
            "STAND-IN climate for HAMSTAD exercise 4, made by generate_loads.py; no measured and",
            "no published value. hour [h]; t_equivalent outdoor equivalent temperature [K],",
            "p_outside and p_inside vapour pressure [Pa], t_inside [K]: instantaneous, linear in",
            "between; rain on the wall [kg/(m2 s)]: constant over the hour that begins there.",
        ],
        {
            "hour": (hour, ".0f"),
            "t_equivalent": (outside, ".3f"),
            "p_outside": (pressure_out, ".2f"),
            "t_inside": (np.full(hour.size, 293.15), ".2f"),
            "p_inside": (pressure_in, ".2f"),
            "rain": (rain, ".1e"),
        },
    )


if __name__ == "__main__":
    main()
