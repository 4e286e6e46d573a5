"""Generate worked values of the mould index from its printed equations, standalone.

Hukka & Viitanen 1999 and the sensitivity classes of Ojanen et al. 2010. Run
`python cases/mould_index/generate_reference.py`; writes wood.csv, classes.csv and decline.csv.
"""

from __future__ import annotations

import math
from pathlib import Path

FOLDER = Path(__file__).parent
# class: k1 below 1, k1 from 1 on, A, B, C, least critical RH in %
CLASSES = {
    "very sensitive": (1.0, 2.0, 1.0, 7.0, 2.0, 80.0),
    "sensitive": (0.578, 0.386, 0.3, 6.0, 1.0, 80.0),
    "medium resistant": (0.072, 0.097, 0.0, 5.0, 1.5, 85.0),
    "resistant": (0.033, 0.014, 0.0, 3.0, 1.0, 85.0),
}


def weeks_to_one(t: float, rh: float, w: float, sq: float) -> float:
    """Weeks to M = 1 at t in °C and rh in %."""
    return math.exp(-0.68 * math.log(t) - 13.9 * math.log(rh) + 0.14 * w - 0.33 * sq + 66.02)


def weeks_to_three(t: float, rh: float, w: float) -> float:
    """Weeks to M = 3."""
    return math.exp(-0.74 * math.log(t) - 12.72 * math.log(rh) + 0.06 * w + 61.50)


def critical(t: float, least: float) -> float:
    """Critical relative humidity in %."""
    if t > 20.0:
        return least
    return max(least, -0.00267 * t**3 + 0.160 * t**2 - 3.13 * t + 100.0)


def largest_index(t: float, rh: float, a: float, b: float, c: float, least: float) -> float:
    """Index that is never passed under constant conditions."""
    limit = critical(t, least)
    q = (limit - rh) / (limit - 100.0)
    return max(0.0, a + b * q - c * q**2)


def constant_run(name: str, t: float, rh: float, hours: int) -> list[float]:
    """Index after each hour, explicit hourly steps from 0."""
    first, later, a, b, c, least = CLASSES[name]
    top = largest_index(t, rh, a, b, c, least)
    per_day = 1.0 / (7.0 * weeks_to_one(t, rh, 0.0, 0.0))
    index, found = 0.0, [0.0]
    for _ in range(hours):
        k1 = first if index < 1.0 else later
        k2 = max(0.0, 1.0 - math.exp(2.3 * (index - top)))
        index += per_day * k1 * k2 / 24.0
        found.append(index)
    return found


def days_to(series: list[float], level: float) -> float:
    """Days until a level is first reached, not a number if never."""
    for hour, value in enumerate(series):
        if value >= level:
            return hour / 24.0
    return math.nan


def main() -> None:
    """Write the tables."""
    lines = [
        "# Constant 20 °C: weeks to M = 1 and to M = 3, largest index (polynomial critical RH).",
        "# Computed from the equations of Hukka & Viitanen 1999; no published table. W 0 pine,",
        "# 1 spruce; SQ 0 sawn after drying, 1 original surface. rh in %.",
        "rh,pine_t1,pine_t3,spruce_t1,spruce_t3,pine_kilned_t1,largest",
    ]
    for rh in (90.0, 95.0, 97.0, 100.0):
        numbers = [
            weeks_to_one(20.0, rh, 0.0, 0.0),
            weeks_to_three(20.0, rh, 0.0),
            weeks_to_one(20.0, rh, 1.0, 0.0),
            weeks_to_three(20.0, rh, 1.0),
            weeks_to_one(20.0, rh, 0.0, 1.0),
            largest_index(20.0, rh, *CLASSES["very sensitive"][2:5], 0.0),
        ]
        lines.append(",".join([f"{rh:.0f}", *(f"{value:.5f}" for value in numbers)]))
    (FOLDER / "wood.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")

    lines = [
        "# Constant 20 °C and 97 % RH, hourly explicit steps from M = 0, W = 0: largest index,",
        "# days to M = 1 and 3 (nan: not reached), M after 4, 8, 12, 26, 52 weeks. Computed from",
        "# the equations of Ojanen et al. 2010; no published table.",
        "class,largest,days_to_1,days_to_3,m_4w,m_8w,m_12w,m_26w,m_52w",
    ]
    for name, (_, _, a, b, c, least) in CLASSES.items():
        run = constant_run(name, 20.0, 97.0, 52 * 168)
        numbers = [largest_index(20.0, 97.0, a, b, c, least), days_to(run, 1.0), days_to(run, 3.0)]
        numbers += [run[weeks * 168] for weeks in (4, 8, 12, 26, 52)]
        lines.append(",".join([name, *(f"{value:.5f}" for value in numbers)]))
    (FOLDER / "classes.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")

    lines = [
        "# Decline on wood from M = 3 after hours of dry conditions (factor 1): -0.032 per day for",
        "# the first 6 h, none from 6 to 24 h, -0.016 per day beyond. Computed by hand-made sum",
        "# from Hukka & Viitanen 1999.",
        "hours,index",
    ]
    for hours in (3, 6, 12, 24, 48, 24 * 8):
        fall = 0.032 * min(hours, 6) / 24.0 + 0.016 * max(0, hours - 24) / 24.0
        lines.append(f"{hours},{3.0 - fall:.6f}")
    (FOLDER / "decline.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
