"""Least values as they are written: digits, units of the table and of the data, by hand."""

from __future__ import annotations

import csv
import json
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from hygro.decide.axis import Axis
from hygro.decide.least import Least, LeastResult, LeastValues
from hygro.decide.least_files import said, write_least
from hygro.units import System

R = Axis("outboard_R", "outboard R", "", "thermal resistance", 1.0, 5.0)
BOARD = Axis("layers.board.thickness", "board: thickness", "mm", "length", 25.4, 50.8)
ROOM = Axis("room", "room", "", "", None, None)
PLAN: Any = SimpleNamespace(
    base=SimpleNamespace(name="a case", wall=SimpleNamespace(name="split")), sha256="0"
)


def row(at: dict[str, Any], value: float | None, fails: float | None) -> Least:
    return Least(at, value, fails, "mould (rain)", None, 9, "")


ROWS = (
    row({"layers.board.thickness": 25.4, "room": "office"}, 3.0, 2.75),
    row({"layers.board.thickness": 25.4, "room": "archive"}, None, 5.0),
    row({"layers.board.thickness": 50.8, "room": "office"}, 1.0, None),
    row({"layers.board.thickness": 50.8, "room": "archive"}, 4.0, 3.75),
)
FOUND = LeastResult(R, (BOARD, ROOM), ROWS, 0.25, PLAN)
# by hand: 5.678263 ft2.h.degF/Btu in 1 m2.K/W, 25.4 mm in an inch
TABLES = {
    "si": [
        "| board: thickness | office | archive |",
        "| 25.4 mm | 3.00 ± 0.25 (R-17) | > 5.00 |",
        "| 50.8 mm | ≤ 1.00 | 4.00 ± 0.25 (R-23) |",
    ],
    "ip": [
        "| board: thickness | office | archive |",
        "| 1 in | 17.03 ± 1.42 | > 28.39 |",
        "| 2 in | ≤ 5.68 | 22.71 ± 1.42 |",
    ],
}


@pytest.mark.parametrize("system", ["si", "ip"])
def test_the_table_turns_and_the_data_stay(tmp_path: Path, system: System) -> None:
    page, listed, kept = write_least(FOUND, tmp_path, "least", system)
    lines = page.read_text("utf-8").splitlines()
    assert [lines[2], *lines[4:6]] == TABLES[system]
    assert ("m²·K/W" if system == "si" else "ft²·h·°F/Btu") in lines[0]
    plain = json.loads(kept.read_text("utf-8"))
    assert (plain["least"], plain["unit"], plain["within"]) == ("outboard_R", "m2.K/W", 0.25)
    assert plain["units"] == {"layers.board.thickness": "mm", "room": ""}
    assert plain["rows"][0]["least"] == 3.0
    first = next(csv.DictReader(listed.read_text("utf-8").splitlines()))
    assert (first["layers.board.thickness"], first["least"]) == ("25.4", "3.0")
    assert first["unit"] == "m2.K/W"


@pytest.mark.parametrize(
    ("within", "value", "fails", "words"),
    [
        (2.0, 28.3913, 26.3913, "28.39 ± 2.00"),
        (0.004, 0.0551, 0.0511, "0.055 ± 0.004"),  # of metres, millimetres are told
        (2e-12, 5.72e-11, 5.52e-11, "5.72e-11 ± 2e-12"),
        (1.0, 11.8, 11.1, "11.80 ± 0.70"),  # found closer than was asked
    ],
)
def test_digits_follow_the_width_of_the_brackets(
    within: float, value: float, fails: float, words: str
) -> None:
    axis = Axis("x", "x", "", "", 0.0, value)
    found = LeastValues(axis, (), (), within)
    assert said(found, row({}, value, fails)) == words
    assert said(found, row({}, None, value)) == f"> {words.split()[0]}"


def test_the_larger_of_bracket_and_error_of_the_engine_is_told() -> None:
    found = LeastValues(Axis("x", "x", "", "", 0.0, 20.0), (), (), 1.0)
    least = row({}, 11.8, 11.1)
    assert said(found, least._replace(uncertainty=0.9)) == "11.80 ± 0.90"
    assert said(found, least._replace(uncertainty=0.3)) == "11.80 ± 0.70"
