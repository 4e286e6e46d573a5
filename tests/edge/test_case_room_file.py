"""A room from an hourly file: rows found by hour or by stamp, every fault told with its line."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from case_files import write_case

from hygro.case import CaseError, load, prepare
from hygro.room.time import Outdoor

ROOM = 'kind = "file"\nfile = "room.csv"'
ALONE = ('kind = "constant"\ntemperature = "21 degC"\nrh = "45 %"', ROOM)
HEAD = "temperature [degC],relative_humidity [%]"

Lines = list[str]


def warming(hours: int) -> Lines:
    """Rows whose temperature tells their place: 20 °C and a hundred thousandth more each hour."""
    return [HEAD, *(f"{20 + 1e-5 * (k + 1):.5f},40" for k in range(hours))]


def write_room(folder: Path, lines: Lines) -> None:
    (folder / "room.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")


def row_of(temperature: np.ndarray) -> np.ndarray:
    """Row, counted from 1, that an indoor temperature came from."""
    return np.round((temperature - 273.15 - 20) * 1e5).astype(int)


def outdoor(first: str, hours: int) -> Outdoor:
    time = np.datetime64(first, "ns") + np.arange(hours + 1) * np.timedelta64(1, "h")
    return Outdoor(time, np.full(hours + 1, 280.0), np.full(hours + 1, 700.0))


def room(folder: Path, lines: Lines, more: str = "") -> object:
    write_room(folder, lines)
    return load(write_case(folder, (ALONE[0], ROOM + more), hours=24)).rooms["home"]


def test_a_year_is_laid_by_calendar_beside_a_run_that_starts_in_october(tmp_path: Path) -> None:
    found = room(tmp_path, warming(8760)).climate(outdoor("2001-10-01T00", 2 * 8760))
    rows = row_of(found.temperature)
    october = (31 + 28 + 31 + 30 + 31 + 30 + 31 + 31 + 30) * 24
    assert rows[0] == october  # the row that ends September
    assert rows[1] == october + 1
    assert (rows[8761:] == rows[1:8761]).all()
    assert set(rows) == set(range(1, 8761))


def test_29_february_repeats_the_day_before_where_the_file_is_a_year(tmp_path: Path) -> None:
    rows = row_of(room(tmp_path, warming(8760)).climate(outdoor("2004-02-28T00", 72)).temperature)
    assert (rows[1:24] == rows[25:48]).all()
    assert rows[49] == 59 * 24 + 1  # first hour of March


def test_as_many_rows_as_the_run_has_hours_stand_in_the_order_of_the_weather(
    tmp_path: Path,
) -> None:
    rows = row_of(room(tmp_path, warming(100)).climate(outdoor("2001-05-05T00", 100)).temperature)
    assert rows.tolist() == [1, *range(1, 101)]


def test_stamped_rows_are_found_by_their_stamps(tmp_path: Path) -> None:
    start = np.datetime64("2001-03-01T01", "h")
    stamped = [f"{start + k},{line}" for k, line in enumerate(warming(400)[1:])]
    found = room(tmp_path, ["time," + HEAD, *stamped]).climate(outdoor("2001-03-02T00", 100))
    assert row_of(found.temperature).tolist() == list(range(24, 125))


def test_a_stamped_year_from_july_serves_other_years_by_calendar(tmp_path: Path) -> None:
    start = np.datetime64("2010-07-01T01", "h")
    stamped = [f"{start + k},{line}" for k, line in enumerate(warming(8760)[1:])]
    found = room(tmp_path, ["time," + HEAD, *stamped]).climate(outdoor("2003-07-01T00", 48))
    assert row_of(found.temperature).tolist() == [8760, *range(1, 49)]


def test_humidity_becomes_vapour_pressure_over_water(tmp_path: Path) -> None:
    found = room(tmp_path, [HEAD, *["20,50"] * 24]).climate(outdoor("2001-01-01T00", 24))
    # ISO 13788: 610.5 exp(17.269 * 20 / (237.3 + 20)) = 2336.95 Pa; half its last digit
    assert found.vapour_pressure == pytest.approx(0.5 * 2336.95, abs=0.005)


def test_columns_may_be_named_in_the_case_and_pressure_be_in_hpa(tmp_path: Path) -> None:
    more = '\ntemperature = ["T in", "degF"]\nvapour_pressure = ["e", "hPa"]'
    found = room(tmp_path, ["T in,e", *["68,11"] * 24], more).climate(outdoor("2001-01-01T00", 24))
    assert found.temperature == pytest.approx(293.15, abs=1e-9)  # 68 °F is 20 °C; round-off
    assert found.vapour_pressure == pytest.approx(1100.0, abs=1e-9)


def test_the_wall_feels_the_room_of_the_file(tmp_path: Path) -> None:
    from hygro.wall.loads import build_loads

    write_room(tmp_path, [HEAD, *["20,50"] * 8760])
    case, climate = prepare(load(write_case(tmp_path, ALONE)))
    loads = build_loads(case.walls[0].wall, climate, case.walls[0].room)
    assert loads.instant[:, 1, 0] == pytest.approx(293.15, abs=1e-9)  # round-off
    assert any("room.csv" in text for text in loads.assumptions)


def put(row: int, text: str) -> Callable[[Lines], Lines]:
    return lambda lines: [*lines[:row], text, *lines[row + 1 :]]


def head(text: str) -> Callable[[Lines], Lines]:
    return put(0, text)


FAULTS: list[tuple[Callable[[Lines], Lines], list[str]]] = [
    (put(5, "21,warm"), ["line 6", "relative_humidity", "'warm'", "number"]),
    (put(5, "nan,40"), ["line 6", "temperature", "'nan'", "finite", "gap"]),
    (put(5, "21,"), ["line 6", "relative_humidity", "empty"]),
    (put(5, "294.2,40"), ["line 6", "temperature", "294.2 degC", "343.15", "unit"]),
    (put(5, "21,400"), ["line 6", "400 %", "0 to 1"]),
    (head("temperature [degC],relative_humidity [1]"), ["line 2", "40 1", "in percent?", "unit %"]),
    (head("temperature [degC],relative_humidity"), ["relative_humidity", "has no unit"]),
    (head("temperature [degX],relative_humidity [%]"), ["degX", "degC"]),
    (head("T,relative_humidity [%]"), ["no column temperature", "columns are T"]),
    (head("temperature [degC],x"), ["no column", "vapour_pressure"]),
    (head("temperature [degC],vapour_pressure [kPa]"), ["line 2", "40 kPa", "12000 Pa", "unit"]),
    (head("temperature [degC],vapour_pressure [hPa]"), ["4000 Pa", "saturation", "unit"]),
    (lambda lines: [*lines[:1], *["20,0.4"] * 24], ["relative_humidity", "1 %", "fraction"]),
    (lambda lines: lines[:1], ["no rows"]),
]


@pytest.mark.parametrize(("fault", "words"), FAULTS)
def test_one_fault_of_the_file_gives_one_problem(
    tmp_path: Path, fault: Callable[[Lines], Lines], words: list[str]
) -> None:
    write_room(tmp_path, fault([HEAD, *["21,40"] * 24]))
    with pytest.raises(CaseError) as caught:
        load(write_case(tmp_path, ALONE, hours=24))
    assert len(caught.value.problems) == 1, caught.value
    assert caught.value.problems[0].path == "room.home.file"
    for word in words:
        assert word in str(caught.value), (word, str(caught.value))


def test_faults_of_two_columns_are_told_together(tmp_path: Path) -> None:
    write_room(tmp_path, [HEAD, "cold,40", "20,wet"])
    with pytest.raises(CaseError) as caught:
        load(write_case(tmp_path, ALONE, hours=24))
    assert len(caught.value.problems) == 2


def test_a_missing_file_and_a_binary_one_are_refused(tmp_path: Path) -> None:
    path = write_case(tmp_path, ALONE, hours=24)
    with pytest.raises(CaseError, match=r"room\.home\.file: .*room\.csv: no such file"):
        load(path)
    (tmp_path / "room.csv").write_bytes(b"\xff\xfe\x00\x01" * 40)
    with pytest.raises(CaseError, match=r"room\.csv, line 1: no UTF-8 text"):
        load(path)


@pytest.mark.parametrize(
    ("hours", "words"), [(23, ["23 rows", "8760", "17520 hours"]), (8784, ["8784", "29 February"])]
)
def test_a_file_of_another_length_is_refused_before_the_run(
    tmp_path: Path, hours: int, words: list[str]
) -> None:
    write_room(tmp_path, warming(hours))
    with pytest.raises(CaseError) as caught:
        prepare(load(write_case(tmp_path, ALONE, ("[settings]", "[settings]\nyears = 2"))))
    assert caught.value.problems[0].path == "room.home.file"
    for word in words:
        assert word in str(caught.value)


def test_a_gap_in_the_stamps_is_told_with_its_line(tmp_path: Path) -> None:
    lines = [f"2001-01-01T{k:02d}:00,21,40" for k in range(1, 20) if k != 7]
    write_room(tmp_path, ["time," + HEAD, *lines])
    with pytest.raises(CaseError, match=r"line 8: step of 2 h before 2001-01-01T08:00"):
        load(write_case(tmp_path, ALONE, hours=24))


def test_a_stamp_with_a_zone_is_refused(tmp_path: Path) -> None:
    write_room(tmp_path, ["time," + HEAD, "2001-01-01T01:00Z,21,40"])
    with pytest.raises(CaseError, match=r"line 2, time: '2001-01-01T01:00Z' .* no zone"):
        load(write_case(tmp_path, ALONE, hours=24))
