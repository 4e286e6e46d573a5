"""Files that are too large, too deep or too many for what they are: refused within a second."""

from __future__ import annotations

import os
import sqlite3
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import netCDF4
import pytest
import xarray as xr
from case_files import SOUND, write_case

import hygro
from hygro.case import CaseError, load
from hygro.decide.store import Store
from hygro.errors import HygroError, InputError, RecordError
from hygro.material.library import load_file
from hygro.record import load as load_record
from hygro.record.seal import seal
from hygro.room.hourly import HourlyRoom

GIGABYTE = 10**9
HDF5 = b"\x89HDF\r\n\x1a\n"
BOARD = """
[board]
name = "Board"
group = "own"
density = 600.0
heat_capacity = 1500.0
pore_volume = 0.55
vapour = { form = "mu", mu = 50.0 }
thermal = { form = "constant", value = 0.13 }
storage = { form = "table", rh = { file = "big" }, w_free = 400.0 }
"""


@contextmanager
def within_a_second() -> Iterator[None]:
    """Of processor time: what others do on the machine does not count."""
    before = time.process_time()
    yield
    assert time.process_time() - before < 1.0


def sparse(path: Path, begin: bytes = b"", end: bytes = b"") -> Path:
    """A file of a gigabyte that takes no room on the disk."""
    path.write_bytes(begin)
    os.truncate(path, GIGABYTE)
    with path.open("ab") as file:
        file.write(end)
    return path


def case_with(folder: Path, *changes: tuple[str, str]) -> Callable[[Path], object]:
    """Read a case that names a large file."""
    path = write_case(folder, *changes, hours=24)
    return lambda _: hygro.case.prepare(load(path))


READERS: dict[str, Callable[[Path], Callable[[Path], object]]] = {
    "case": lambda _: load,
    "normals": lambda _: hygro.read_normals,
    "materials": lambda _: load_file,
    "record": lambda _: load_record,
    "weather": lambda _: hygro.read_weather,
    "store": lambda _: Store,
    "room": lambda _: lambda path: HourlyRoom(str(path)),
    "materials of a case": lambda folder: case_with(
        folder, ("[case]", 'material_files = ["big"]\n[case]')
    ),
    "table of a case": lambda folder: case_with(folder, ('"town.csv"', '"big"')),
}


@pytest.mark.parametrize("kind", READERS)
def test_a_file_of_a_gigabyte_is_refused_within_a_second(tmp_path: Path, kind: str) -> None:
    read, path = READERS[kind](tmp_path), sparse(tmp_path / "big")
    with within_a_second(), pytest.raises(HygroError) as caught:
        read(path)
    (line,) = str(caught.value).splitlines()
    assert "big" in line
    assert len(line.replace(str(tmp_path), "")) <= 300


@pytest.mark.parametrize("begin", [b"", HDF5])
def test_a_record_of_a_gigabyte_is_not_read_for_its_checksum(tmp_path: Path, begin: bytes) -> None:
    with within_a_second(), pytest.raises(RecordError, match="damaged"):
        load_record(sparse(tmp_path / "big.nc", begin))


def test_a_store_of_a_gigabyte_with_the_mark_of_one_is_refused(tmp_path: Path) -> None:
    with within_a_second(), pytest.raises(InputError, match=r"big\.study"):
        Store(sparse(tmp_path / "big.study", b"SQLite format 3\0" + bytes(84)))


def test_points_of_a_gigabyte_are_refused(tmp_path: Path) -> None:
    (tmp_path / "own.toml").write_text(BOARD, encoding="utf-8")
    sparse(tmp_path / "big")
    with within_a_second(), pytest.raises(InputError, match="954 MiB: must be at most 512 MiB"):
        load_file(tmp_path / "own.toml")


@pytest.mark.parametrize("read", [hygro.read_normals, load_file, load], ids=lambda f: f.__name__)
@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("x = " + "[" * 5000 + "]" * 5000, "nested too deep"),
        ("x." + "a." * 5000 + "a = 1", "nested too deep|unknown key"),
        ("x = " + "9" * 5000, "not valid TOML.*digits"),
    ],
)
def test_depth_and_length_are_bounded_in_every_file_of_tables(
    tmp_path: Path, read: Callable[[Path], object], text: str, words: str
) -> None:
    path = tmp_path / "deep.toml"
    path.write_text(text, encoding="utf-8")
    with within_a_second(), pytest.raises(InputError, match=words):
        read(path)


def test_a_hundred_thousand_walls_that_copy_each_other_are_refused(tmp_path: Path) -> None:
    many = "".join(f'[[wall]]\nname="{k}"\nbase="plain"\n' for k in range(100_000))
    path = write_case(tmp_path, hours=24)
    path.write_text(SOUND + many, encoding="utf-8")
    assert path.stat().st_size < 5e6  # a larger file is not even parsed
    began = time.process_time()
    with pytest.raises(CaseError, match=r"wall: has 100002 items: must have 1 to 1000"):
        load(path)
    # parsing takes most of it; copies would take minutes and gigabytes
    assert time.process_time() - began < 10.0


@pytest.mark.parametrize("deep", ["[" * 5000 + "]" * 5000, "9" * 5000])
def test_attributes_that_are_too_deep_are_told(tmp_path: Path, deep: str) -> None:
    places = dict.fromkeys(("latitude", "longitude", "altitude", "utc_offset_hours"), 1.0)
    attrs = {"history": deep, "kind": "measured", **places}
    xr.Dataset(attrs=attrs).to_netcdf(tmp_path / "x.nc")
    with pytest.raises(HygroError, match="'history' is no JSON list"):
        hygro.read_weather(tmp_path / "x.nc")


def test_a_small_record_that_unpacks_to_terabytes_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "bomb.nc"
    with netCDF4.Dataset(path, "w") as file:
        file.set_fill_off()
        file.createDimension("time", 200_000_000_000)
        file.createVariable("x", "f8", ("time",), chunksizes=(1_000_000,), zlib=True)
    seal(path)
    with within_a_second(), pytest.raises(RecordError, match=r"1490 GiB unpacked: must be at most"):
        load_record(path)


def test_a_store_that_never_ends_is_refused(tmp_path: Path) -> None:
    """A view without end in the place of a table, which SQLite would count for ever."""
    with Store(tmp_path / "x.study"):
        pass
    with sqlite3.connect(tmp_path / "x.study") as base:
        base.execute("DROP TABLE result")
        base.execute("CREATE VIEW result AS WITH RECURSIVE c(sha256) AS (SELECT 1 UNION ALL "
                     "SELECT sha256 + 1 FROM c) SELECT sha256 FROM c")  # fmt: skip
    base.close()
    with within_a_second(), pytest.raises(InputError, match="holds the view 'result'"):
        Store(tmp_path / "x.study")
