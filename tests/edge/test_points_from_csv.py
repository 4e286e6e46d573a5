"""Measured points of a curve from a CSV file: where it lies, its units, and what is wrong in it."""

from __future__ import annotations

from pathlib import Path

import pytest
from case_files import write_case

from hygro.case import CaseError, load
from hygro.constants import PERM
from hygro.declare import plain
from hygro.errors import InputError
from hygro.material import from_dict
from hygro.material.library import get_material, load_file

MATERIAL = """
[board]
name = "Board"
group = "own"
density = 600.0
heat_capacity = 1500.0
pore_volume = 0.55
vapour = { form = "perm-table", thickness = 0.012, points = { file = "cups.csv" } }
thermal = { form = "constant", value = 0.13, temperature_factor = { file = "warm.csv" } }
liquid = { form = "conductivity-table", points = { file = "liquid.csv" } }
[board.storage]
form = "table"
rh = { file = "sorption.csv", columns = ["phi", "w"] }
suction = { file = "plates.csv" }
w_free = 400.0
"""
FILES = {
    "sorption.csv": "# measured\nphi [%],w [kg/m3],who\n50,45,A\n80,80,A\n",
    "plates.csv": "suction [kPa],water_content [kg/m³]\n10,300\n100,250\n",
    "cups.csv": "rh [1],permeance [ng/(Pa.s.m2)]\n0.25,57.2\n0.75,114.4\n",
    "warm.csv": "temperature [degC],factor [%]\n0,90\n20,100\n",
    "liquid.csv": "water_content [kg/m3],liquid_conductivity [s]\n0,1e-14\n400,1e-9\n",
}


def write(folder: Path, **changed: str) -> Path:
    for name, text in FILES.items():
        text = changed.get(name.removesuffix(".csv"), text)
        (folder / name).write_text(text, encoding="utf-8")
    path = folder / "own.toml"
    path.write_text(MATERIAL, encoding="utf-8")
    return path


def test_points_are_read_beside_the_file_in_the_units_of_their_headers(tmp_path: Path) -> None:
    """By hand: 57.2 ng/(Pa·s·m²) is a US perm; 0 and 20 °C are 273.15 and 293.15 K."""
    board = load_file(write(tmp_path))["board"]
    assert board.storage.rh == ((0.5, 45.0), (0.8, 80.0))
    assert board.storage.suction == ((1e4, 300.0), (1e5, 250.0))
    assert board.thermal.temperature_factor == ((273.15, 0.9), (293.15, 1.0))
    perms = [y for _, y in board.vapour.points]
    assert perms == pytest.approx([57.2e-12 / PERM, 114.4e-12 / PERM])  # round-off of two factors
    assert board.liquid.points == ((0.0, -14.0), (400.0, -9.0))


def test_a_material_stores_the_points_and_no_file(tmp_path: Path) -> None:
    board = load_file(write(tmp_path))["board"]
    table = plain(board)
    assert table["storage"]["rh"] == [[0.5, 45.0], [0.8, 80.0]]
    assert "csv" not in str(table)
    assert from_dict(table) == board


@pytest.mark.parametrize(
    ("file", "text", "words"),
    [
        ("sorption", "phi [%],w [kg/m3]\n50,45\n80,x\n", "sorption.csv, line 3, w .*'x'"),
        ("sorption", "phi [%],w [kg/m3]\n50,45\n80,\n", "sorption.csv, line 3, w .*is empty"),
        ("sorption", "phi [1],w [kg/m3]\n50,45\n", r"line 2, phi \[1\]: 50 1: must be 0 to 1"),
        ("sorption", "phi [%],w [kg/m3]\n80,80\n50,45\n", "line 3: rh = 0.5 after 0.8: must rise"),
        ("sorption", "phi [%],w [%]\n50,45\n", r"line 2, w \[%\]: .*not a unit of density"),
        ("sorption", "phi [%],moisture\n50,45\n", r"no column 'w \[...\]'; columns are phi"),
        ("cups", "rh,permeance [perm]\n0.5,1\n", "column 'rh' has no unit; write 'rh"),
        ("liquid", "water_content [kg/m3],liquid_conductivity [s]\n0,-12\n", "not its log10"),
        ("plates", "suction [kPa],water_content [kg/m3]\n", "has no rows"),
    ],
)
def test_a_fault_is_told_with_file_line_and_value(
    tmp_path: Path, file: str, text: str, words: str
) -> None:
    with pytest.raises(InputError, match=words):
        load_file(write(tmp_path, **{file: text}))


@pytest.mark.parametrize(
    ("table", "words"),
    [
        ({"file": "nowhere.csv"}, "nowhere.csv: no such file"),
        ({"file": 3}, "must be the name of a CSV file"),
        ({"file": "a.csv", "column": ["a", "b"]}, "column: unknown key; did you mean 'columns'"),
        ({"file": "a.csv", "columns": ["a [%]"]}, "must be two headers"),
    ],
)
def test_a_table_that_names_no_points_is_refused(table: dict[str, object], words: str) -> None:
    with pytest.raises(InputError, match=words):
        get_material("osb", storage={"form": "table", "rh": table, "w_free": 470.0})


OWN = """
[materials.my-osb]
like = "osb"
[materials.my-osb.storage]
form = "table"
rh = { file = "sorption.csv", columns = ["phi", "w [kg/m3]"] }
w_free = 470.0

[settings]
"""


def test_a_case_reads_points_beside_itself_and_tells_the_place(tmp_path: Path) -> None:
    write(tmp_path)
    path = write_case(tmp_path, ('material = "osb"', 'material = "my-osb"'), ("[settings]", OWN))
    layer = next(item for item in load(path).walls[0].wall.solids if item.name == "sheathing")
    assert layer.material.storage.rh == ((0.5, 45.0), (0.8, 80.0))
    write(tmp_path, sorption="phi [1],w [kg/m3]\n80,80\n")
    place = r"materials\.my-osb\.storage\.rh: sorption\.csv, line 2"
    with pytest.raises(CaseError, match=place):
        load(path)
