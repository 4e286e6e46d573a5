"""A small sound case on disk, and changed copies of it. Owns no expected value."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np

SOUND = """
[case]
name = "small"

[climate]
file = "town.csv"
table.site = { latitude = 52.0, longitude = 10.0, altitude = 100.0, utc_offset_hours = 1.0 }
table.kind = "typical year"

[climate.table.columns]
temperature = ["T", "degC"]
relative_humidity = ["RH", "%"]
wind_speed = ["wind", "m/s"]
wind_direction = ["from", "degree"]
global_horizontal = ["sun", "W/m2"]
diffuse_horizontal = ["sky", "W/m2"]
direct_normal = ["beam", "W/m2"]
longwave_down = ["longwave", "W/m2"]
precipitation = ["rain", "mm"]

[room.home]
kind = "constant"
temperature = "21 degC"
rh = "45 %"

[[wall]]
name = "plain"
azimuth = "N"
layers = [
  { material = "fibre-cement", name = "cladding", thickness = "8 mm" },
  { gap = "vented gap", depth = "20 mm", air_change = 100 },
  { material = "osb", name = "sheathing", thickness = "11 mm" },
  { material = "glass-wool-batt", name = "batt", thickness = "140 mm" },
  { membrane = "latex-paint", name = "paint" },
]

[[wall]]
name = "leaky"
base = "plain"
leaks.rain = { at = "sheathing" }

[settings]
accuracy = "draft"
"""

COLUMNS = ("T", "RH", "wind", "from", "sun", "sky", "beam", "longwave", "rain")


def rows(hours: int = 8760) -> list[list[str]]:
    """Return the lines of an invented hourly year, stamps first."""
    hour = np.arange(hours)
    stamps = np.datetime64("2001-01-01T01:00") + hour * np.timedelta64(60, "m")
    season = np.cos(2 * np.pi * (hour - 400) / 8760)
    day = np.clip(np.sin(2 * np.pi * (hour % 24 - 6) / 24), 0, None)
    numbers = np.stack(
        [
            8 - 14 * season + 4 * day,
            np.full(hours, 75.0),
            np.full(hours, 3.0),
            (hour * 37) % 360,
            100 * day,
            80 * day,
            40 * day,
            np.full(hours, 280.0),
            np.where(hour % 11 == 0, 1.0, 0.0),
        ]
    )
    return [
        [str(stamp), *(f"{value:.2f}" for value in column)]
        for stamp, column in zip(stamps, numbers.T, strict=True)
    ]


def write_case(
    folder: Path,
    *changes: tuple[str, str],
    weather: Callable[[list[list[str]]], list[list[str]]] | None = None,
    hours: int = 8760,
) -> Path:
    """Write the case with its weather; each change replaces a text that must occur in it."""
    text = SOUND
    for old, new in changes:
        assert old in text, f"{old!r} does not occur in the case"
        text = text.replace(old, new)
    lines = rows(hours)
    if weather is not None:
        lines = weather(lines)
    table = "\n".join(",".join(line) for line in [["time", *COLUMNS], *lines])
    (folder / "town.csv").write_text(table + "\n", encoding="utf-8")
    path = folder / "case.toml"
    path.write_text(text, encoding="utf-8")
    return path
