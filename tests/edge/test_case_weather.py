"""Weather that is not enough for the run stops the case, with the key of the case that names it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from case_files import COLUMNS, write_case

from hygro.case import CaseError, climate, load, prepare

Lines = list[list[str]]


def without(hours: slice) -> Callable[[Lines], Lines]:
    def cut(lines: Lines) -> Lines:
        kept = list(lines)
        del kept[hours]
        return kept

    return cut


def cell(row: int, column: str, text: str) -> Callable[[Lines], Lines]:
    def put(lines: Lines) -> Lines:
        lines[row][1 + COLUMNS.index(column)] = text
        return lines

    return put


def no_rain(lines: Lines) -> Lines:
    for line in lines:
        line[1 + COLUMNS.index("rain")] = "0"
    return lines


def twice(lines: Lines) -> Lines:
    return [*lines[:100], lines[99], *lines[100:]]


FAULTS = [
    (without(slice(4000, 4010)), ["11 h before 2001-06-17T03:00", "rows are missing"]),
    (twice, ["2001-01-05T04:00"]),
    (cell(500, "T", "cold"), ["line 502, T (temperature)", "'cold'", "number"]),
    (cell(500, "T", ""), ["temperature", "2001-01-21"]),
    (cell(500, "RH", "540"), ["line 502, RH (relative_humidity)", "540 %", "percent"]),
    (cell(500, "T", "283.15"), ["line 502, T (temperature)", "283.15 degC", "335 K"]),
    (no_rain, ["precipitation", "zero", "none accepted"]),
]


@pytest.mark.parametrize(("fault", "words"), FAULTS)
def test_faulty_weather_is_refused_with_its_place(
    tmp_path: Path, fault: Callable[[Lines], Lines], words: list[str]
) -> None:
    case = load(write_case(tmp_path, weather=fault))
    with pytest.raises(CaseError) as caught:
        climate(case)
    text = str(caught.value)
    assert text.startswith(f"{case.path}: climate: ")
    for word in words:
        assert word in text, (word, text)


def test_a_truncated_file_is_not_enough_for_a_start_month(tmp_path: Path) -> None:
    path = write_case(tmp_path, ("[settings]", "[settings]\nstart_month = 10"), hours=8000)
    with pytest.raises(CaseError, match="8000 hours"):
        climate(load(path))


def test_a_leap_year_is_not_repeated_silently(tmp_path: Path) -> None:
    path = write_case(tmp_path, ("[settings]", "[settings]\nyears = 2"), hours=8784)
    with pytest.raises(CaseError, match="8784"):
        climate(load(path))


def test_a_file_of_another_kind_is_refused(tmp_path: Path) -> None:
    path = write_case(tmp_path, hours=24)
    (tmp_path / "town.csv").write_bytes(bytes(range(256)) * 40)
    with pytest.raises(CaseError, match=r"town\.csv"):
        climate(load(path))


def test_rain_consent_takes_the_driving_rain_off_the_walls_and_says_so(tmp_path: Path) -> None:
    consent = ('file = "town.csv"', 'file = "town.csv"\nrain = "none accepted"')
    case, found = prepare(load(write_case(tmp_path, consent, weather=no_rain)))
    assert all(item.wall.outside.rain_method is None for item in case.walls)
    assert "without driving rain" in found.attrs["history"]


def test_rain_consent_does_nothing_where_there_is_rain(tmp_path: Path) -> None:
    consent = ('file = "town.csv"', 'file = "town.csv"\nrain = "none accepted"')
    case, _ = prepare(load(write_case(tmp_path, consent)))
    assert all(item.wall.outside.rain_method == "ashrae160" for item in case.walls)


def test_gaps_are_filled_only_where_the_case_asks_and_that_is_recorded(tmp_path: Path) -> None:
    fill = ("[settings]", '[[climate.fill]]\nvariable = "temperature"\n[settings]')
    found = climate(load(write_case(tmp_path, fill, weather=cell(500, "T", ""))))
    assert np.isfinite(found["temperature"].values).all()
    assert "temperature: 1 hours in 1 gaps filled" in found.attrs["history"]


def test_rain_is_scaled_to_the_sum_that_the_case_gives(tmp_path: Path) -> None:
    scaled = ('file = "town.csv"', 'file = "town.csv"\nannual_rain = "937 mm"')
    found = climate(load(write_case(tmp_path, scaled)))
    assert float(found["precipitation"].sum()) == pytest.approx(937.0)
    assert "annual sum scaled from" in found.attrs["history"]


def test_a_year_is_repeated_and_begins_with_the_month_of_the_case(tmp_path: Path) -> None:
    path = write_case(tmp_path, ("[settings]", "[settings]\nyears = 2\nstart_month = 10"))
    case = load(path)
    found = climate(case)
    assert found.sizes["time"] == 2 * 8760
    assert str(found["time"].values[0])[:16] == "2001-10-01T01:00"
    alone = climate(load(write_case(tmp_path)))
    october = int(np.argmax(alone["time"].values == np.datetime64("2001-10-01T01:00")))
    values, year = found["temperature"].values, alone["temperature"].values
    assert np.array_equal(values[:100], year[october : october + 100])
    assert np.array_equal(values[8760:8860], values[:100])


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('unit = "degC"', 'unit = "degR"', ["temperature", "degR", "degC"]),
        ("monthly = [-17.0, ", "monthly = [", ["temperature.monthly", "must have 12"]),
        ("monthly = [78, ", "monthly = [178, ", ["relative_humidity", "1.78"]),
        ("latitude = 52.0", "latitude = 520.0", ["place.latitude", "520"]),
        ("rain_days =", "rain_day =", ["rain_day", "'rain_days'"]),
    ],
)
def test_faulty_normals_are_refused_with_their_place(
    tmp_path: Path, old: str, new: str, words: list[str]
) -> None:
    from hygro.case import find

    source = find("demonstration").parent / "normals.toml"
    text = source.read_text(encoding="utf-8")
    assert old in text
    (tmp_path / "normals.toml").write_text(text.replace(old, new, 1), encoding="utf-8")
    path = generating_case(tmp_path)
    with pytest.raises(CaseError) as caught:
        climate(load(path))
    for word in words:
        assert word in str(caught.value), (word, str(caught.value))


def generating_case(folder: Path, *changes: tuple[str, str]) -> Path:
    """The small case with weather from the normals beside it."""
    table = '\n[climate]\nfile = "town.csv"\n'
    path = write_case(folder, *changes, hours=24)
    text = path.read_text(encoding="utf-8")
    start, end = text.index(table), text.index("[room.home]")
    generate = '\n[climate]\ngenerate = { normals = "normals.toml", seed = 1 }\n\n'
    path.write_text(text[:start] + generate + text[end:], encoding="utf-8")
    return path


def test_too_few_generated_years_are_no_truncated_file(tmp_path: Path) -> None:
    from hygro.case import find

    source = find("demonstration").parent / "normals.toml"
    (tmp_path / "normals.toml").write_bytes(source.read_bytes())
    path = generating_case(tmp_path, ("[settings]", "[settings]\nyears = 2\nstart_month = 10"))
    text = path.read_text("utf-8").replace("seed = 1 }", "seed = 1, years = 2 }")
    path.write_text(text, "utf-8")
    with pytest.raises(CaseError) as caught:
        climate(load(path))
    # two years from October on reach into a third
    assert "generate more: years = 3" in str(caught.value)
    assert "file" not in str(caught.value).removeprefix(str(path))
