"""An invented EPW line whose every field is another number, and sums over several hours."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import xarray as xr
from test_weather_bad_files import epw_lines, write

import weather

NOON = 8 + 24 * 10 + 11
"""Index of the line of the hour that ends on 11 January at 12 h."""


def read(folder: Path, fields: dict[int, str]) -> xr.Dataset:
    """The invented year with some fields of that hour set anew."""
    lines = epw_lines()
    cells = lines[NOON].split(",")
    for position, text in fields.items():
        cells[position] = text
    lines[NOON] = ",".join(cells)
    return weather.read(write(folder, lines)).isel(time=NOON - 8)


def test_every_field_is_read_from_its_place_in_its_unit(tmp_path: Path) -> None:
    # positions of the published description of the format (from memory), counted from 0
    found = read(tmp_path, {
        6: "11.0", 7: "2.0", 8: "54", 9: "98765", 12: "312", 13: "401", 14: "402", 15: "103",
        20: "123", 21: "4.5", 22: "9", 23: "3", 30: "7", 33: "1.2", 34: "1",
    })  # fmt: skip
    expected = {
        "temperature": 284.15, "dew_point": 275.15, "relative_humidity": 0.54, "pressure": 98765.0,
        "longwave_down": 312.0, "global_horizontal": 401.0, "direct_normal": 402.0,
        "diffuse_horizontal": 103.0, "wind_direction": 123.0, "wind_speed": 4.5,
        "cloud_cover": 0.3, "snow_depth": 0.07, "precipitation": 1.2,
    }  # fmt: skip
    assert {name: float(found[name]) for name in expected} == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(("hours", "amount"), [("1", 1.2), ("2", None), ("3", None), ("99", 1.2)])
def test_a_sum_over_several_hours_is_no_rain_of_one(
    tmp_path: Path, hours: str, amount: float | None
) -> None:
    found = float(read(tmp_path, {33: "1.2", 34: hours})["precipitation"])
    # 99 is the code for an unknown number of hours
    assert np.isnan(found) if amount is None else found == amount


@pytest.mark.parametrize(
    ("position", "code", "name"),
    [(13, "9999", "global_horizontal"), (21, "999", "wind_speed"), (23, "99", "cloud_cover")],
)
def test_codes_of_missing_values_are_missing(
    tmp_path: Path, position: int, code: str, name: str
) -> None:
    assert np.isnan(float(read(tmp_path, {position: code})[name]))


def test_the_place_is_read_in_the_order_of_the_header(tmp_path: Path) -> None:
    lines = epw_lines()
    cells = lines[0].split(",")
    cells[6:10] = ["47.5", "9.25", "1.0", "432"]
    lines[0] = ",".join(cells)
    found = weather.read(write(tmp_path, lines)).attrs
    names = ("latitude", "longitude", "utc_offset_hours", "altitude")
    assert [found[name] for name in names] == [47.5, 9.25, 1.0, 432.0]
