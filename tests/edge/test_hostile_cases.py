"""Case files that hurt a reader: each gives a few short lines, none a traceback or a long wait."""

from __future__ import annotations

import os
import time
from pathlib import Path

import pytest
from case_files import SOUND, write_case

import hygro
from hygro.case import CaseError, from_data, load
from hygro.errors import InputError
from hygro.problems import LONGEST, MOST_LINES

LAYERS = SOUND[SOUND.index("layers = [") : SOUND.index("]\n\n[[wall]]") + 2]
AZIMUTH, BASE, ROOM = 'azimuth = "N"', 'base = "plain"', "[room.home]"


def refused(path: Path) -> list[str]:
    """The lines of the one error, short and few, without their source."""
    with pytest.raises(CaseError) as caught:
        load(path)
    lines = str(caught.value).splitlines()
    assert len(lines) <= MOST_LINES + 1
    assert all(line.startswith(f"{path}: ") for line in lines)
    short = [line.removeprefix(f"{path}: ") for line in lines]
    assert all(len(line) <= LONGEST for line in short)
    return short


HOSTILE = {
    "empty file": (SOUND, "", "case: missing"),
    "5000 arrays deep": (AZIMUTH, "azimuth = " + "[" * 5000 + "]" * 5000, "too deep"),
    "100 arrays deep": (AZIMUTH, "azimuth = " + "[" * 100 + "]" * 100, "azimuth: [[[["),
    "5000 tables deep": (AZIMUTH, "azimuth." + "a." * 5000 + "a = 1", "too deep"),
    "5000 digits": (AZIMUTH, "azimuth = " + "9" * 5000, "digits"),
    "400 digits": (AZIMUTH, "azimuth = " + "9" * 400, "azimuth: 9999"),
    "400 digits for a count": ('accuracy = "draft"', "years = " + "9" * 400, "years: 9999"),
    "a long text": (AZIMUTH, f'azimuth = "{"x" * 100_000}"', "azimuth: 'xxxx"),
    "a long key": (AZIMUTH, f"{'x' * 100_000} = 1", "unknown key"),
    "a long name of a layer": (
        'name = "batt", thickness',
        f'name = "{"x" * 9000}", t',
        "layers[3]",
    ),
    "NUL in a file name": ('"town.csv"', '"to\\u0000wn.csv"', "no such file"),
    "NUL in a room's file": ('kind = "constant"', 'kind = "file"\nfile = "a\\u0000b"', "room.home"),
    "remove = 3": (BASE, f"{BASE}\nremove = 3", 'wall."leaky".remove: 3: must be a list'),
    "change = 3": (BASE, f"{BASE}\nchange = 3", 'wall."leaky".change: 3: must be a table'),
    "remove = [3]": (BASE, f"{BASE}\nremove = [3]", "'3': the wall has no such element"),
    "change of no table": (BASE, f"{BASE}\nchange.batt = 3", "change.batt: 3: must be a table"),
    "base = []": (BASE, "base = []", 'wall."leaky".base'),
    "base = {}": (BASE, "base = {}", 'wall."leaky".base'),
    "files = [1]": ('file = "town.csv"', "files = [1]", "climate.files[0]: 1: must be text"),
    "sources = [1]": ('file = "town.csv"', "sources = [1]", "climate.sources: unknown key"),
    "storage.form = {}": (
        "[settings]",
        '[materials.x]\nlike = "osb"\nstorage.form = {}\n[settings]',
        "materials.x.storage",
    ),
    "kind of a material = []": (
        "[settings]",
        '[materials.x]\nlike = "osb"\nkind = []\n[settings]',
        "materials.x",
    ),
    "like = {}": ("[settings]", "[materials.x]\nlike = {}\n[settings]", "materials.x"),
    "like itself": ("[settings]", '[materials.x]\nlike = "x"\n[settings]', "materials.x: material"),
    "wall = 5": (SOUND[SOUND.index("[[wall]]") :], "", "wall: missing"),
    "layers = text": (LAYERS, 'layers = "osb"\n', "layers: 'osb': must be a list"),
    "layers of numbers": (LAYERS, "layers = [1, 2]\n", "layers[0]: 1: must be a table"),
    "room = []": (SOUND[SOUND.index(ROOM) : SOUND.index("[[wall]]")], "", "room: missing"),
    "kind = []": ('kind = "constant"', "kind = []", "room.home"),
    "materials = 3": ("[case]", "materials = 3\n[case]", "materials: 3: must be a table"),
    "a material = 3": ("[case]", "materials.x = 3\n[case]", "materials.x: 3: must be a table"),
    "unknown table": ("[settings]", "[setting]\nx = 1\n[settings]", "did you mean 'settings'"),
    "a key twice": (AZIMUTH, f"{AZIMUTH}\n{AZIMUTH}", "Cannot overwrite a value"),
    "a table twice": ("[settings]", "[settings]\n[settings]", "Cannot declare"),
    "name = []": ('name = "plain"', "name = []", "name"),
    "name with a line break": ('name = "plain"', 'name = "a\\nb"', "base"),
    "a date": (AZIMUTH, "azimuth = 2001-01-01", "azimuth: datetime.date"),
    "a hundred unknown keys": (
        AZIMUTH,
        AZIMUTH + "\n" + "\n".join(f"x{i} = 1" for i in range(100)),
        "... and",
    ),
}


@pytest.mark.parametrize("case", HOSTILE)
def test_a_hostile_file_gives_a_few_short_lines(tmp_path: Path, case: str) -> None:
    old, new, words = HOSTILE[case]
    lines = refused(write_case(tmp_path, (old, new), hours=24))
    assert any(words in line for line in lines), lines


@pytest.mark.parametrize(
    ("tables", "words"),
    [("wall = 5", "wall: 5: must be a list"), ("room = []", "room: []: must be a table")],
)
def test_a_value_for_a_table_is_refused(tmp_path: Path, tables: str, words: str) -> None:
    path = tmp_path / "case.toml"
    path.write_text(tables, encoding="utf-8")
    assert any(words in line for line in refused(path))


def test_a_byte_order_mark_does_no_harm(tmp_path: Path) -> None:
    path = write_case(tmp_path, hours=24)
    path.write_bytes(b"\xef\xbb\xbf" + path.read_bytes())
    assert len(load(path).walls) == 2


def test_a_file_of_a_gigabyte_is_refused_unread(tmp_path: Path) -> None:
    path = tmp_path / "case.toml"
    path.touch()
    os.truncate(path, 10**9)  # sparse: takes no room on disk
    before = time.process_time()
    [line] = refused(path)
    assert time.process_time() - before < 0.5  # reading it would take longer
    assert "1000 MB: must be at most" in line


def test_a_million_layers_are_refused_within_a_second(tmp_path: Path) -> None:
    many = "layers = [" + '{material = "osb", thickness = 0.01},\n' * 10**6 + "]\n"
    path = write_case(tmp_path, (LAYERS, many), hours=24)
    layer = {"material": "osb", "thickness": 0.01}
    before = time.process_time()
    assert "MB: must be at most" in refused(path)[0]
    with pytest.raises(InputError, match=r"layers: has 1000000 items: must have 0 to 200"):
        hygro.Wall("plain", [layer] * 10**6)
    with pytest.raises(CaseError, match=r"layers: has 1000000 items: must have 0 to 200"):
        from_data({"wall": [{"name": "x", "layers": [layer] * 10**6}]}, path=path)
    assert time.process_time() - before < 1.0


def test_a_folder_for_a_case_file_is_told(tmp_path: Path) -> None:
    (tmp_path / "case.toml").mkdir()
    with pytest.raises(InputError, match=r"folder without a file case\.toml"):
        load(tmp_path)
