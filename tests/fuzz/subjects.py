"""Sound files of every kind that the program reads, and the command that reads each. Owns both."""

from __future__ import annotations

import shutil
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import pandas as pd
import pvlib

import hygro
from hygro.case import load
from hygro.decide.study import study_of
from hygro.record import save, simulate_loads
from tests.case_files import SOUND, write_case
from tests.fuzz.mutate_toml import toml
from tests.fuzz.random_wall import CASES, PLACES, drawn, random_surroundings, year

STUDY = """
[study.one]
wall = "leaky"
vary.rain_leak = ["1 %", "2 %"]
"""
SHIPPED = Path(hygro.__file__).parent / "material" / "data" / "sheathing.toml"
QUICK = ('accuracy = "draft"', 'accuracy = "draft"\ntolerance = 10\nrepeat = "once"')
MADE = (
    ('file = "town.csv"', 'generate = { normals = "normals.toml", seed = 1 }'),
    (SOUND[SOUND.index("table.site") : SOUND.index("[room.home]")], ""),
    ("[case]", 'material_files = ["own.toml"]\n[case]'),
    ('material = "osb"', 'material = "denser"'),
)
"""The case with made weather and materials of its own."""


class Subject(NamedTuple):
    """A file that is to be damaged, the files it stands among, and the commands that read it."""

    name: str
    among: tuple[str, ...]
    commands: tuple[tuple[str, ...], ...]


_TABLE = ("case.toml", "town.csv")
_MADE = ("made.toml", "own.toml", "normals.toml")
_STUDY = (("status",), ("export", "out.nc"), ("run", "--processes", "1"))
SUBJECTS: dict[str, tuple[Subject, ...]] = {
    "case": (
        Subject("case.toml", _TABLE, (("check", "case.toml"),)),
        Subject("made.toml", _MADE, (("check", "made.toml"),)),
        Subject("own.toml", _MADE, (("check", "made.toml"),)),
        Subject("normals.toml", _MADE, (("weather", "made.toml"),)),
    ),
    "weather": (
        Subject("town.epw", (), (("weather", "town.epw"),)),
        Subject("town.tm2", (), (("weather", "town.tm2"),)),
        Subject("tmy3.csv", (), (("weather", "tmy3.csv"),)),
        Subject("town.nc", (), (("weather", "town.nc"),)),
        Subject("town.csv", _TABLE, (("weather", "case.toml"),)),
    ),
    "record": (Subject("wall.nc", (), (("show", "wall.nc"), ("show", "wall.nc", "--json"))),),
    "store": (
        Subject(
            "one.study",
            ("study.toml", "town.csv"),
            tuple(
                ("study", word, "study.toml", "one", *more, "--store", "one.study")
                for word, *more in _STUDY
            ),
        ),
    ),
}


def make_all(folder: Path) -> None:
    """Make every sound file in a folder, where it is not there."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, make in MAKERS.items():
        if not (folder / name).exists():
            make(folder)


def _case(folder: Path) -> None:
    write_case(folder)


def _made(folder: Path) -> None:
    inner = folder / "made"
    inner.mkdir(exist_ok=True)
    write_case(inner, *MADE, hours=24).rename(folder / "made.toml")
    shutil.rmtree(inner)
    shipped = tomllib.loads(SHIPPED.read_text(encoding="utf-8"))
    (folder / "own.toml").write_text(toml({"denser": shipped["osb"]}), encoding="utf-8")
    shutil.copy(CASES / PLACES[0], folder / "normals.toml")


def _study(folder: Path) -> None:
    text = SOUND.replace(*QUICK) + STUDY
    (folder / "study.toml").write_text(text, encoding="utf-8")
    store = folder / "one.study"
    found = study_of(load(folder / "study.toml"), "one", store=store)
    found.run(processes=1)
    found.store.close()


def _epw(folder: Path) -> None:
    """A header and hours as the format has them, of a made year."""
    made = year(PLACES[0], 0)
    head = ["LOCATION,Town,XX,YYY,made,0,52.0,-90.0,-6.0,310.0", "DESIGN CONDITIONS,0",
            "TYPICAL/EXTREME PERIODS,0", "GROUND TEMPERATURES,0",
            "HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0", "COMMENTS 1,made", "COMMENTS 2,made",
            "DATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31"]  # fmt: skip
    rows = []
    for stamp, v in made.to_dataframe().iterrows():
        at = stamp - pd.Timedelta(hours=1)
        rows.append(
            f"2003,{at.month},{at.day},{at.hour + 1},0,?9?9,{v.temperature - 273.15:.1f},"
            f"{v.temperature - 275.15:.1f},{100 * v.relative_humidity:.0f},97600,0,0,9999,"
            f"{v.global_horizontal:.0f},{v.direct_normal:.0f},{v.diffuse_horizontal:.0f},"
            f"999999,999999,999999,9999,{v.wind_direction:.0f},{v.wind_speed:.1f},5,5,9999,"
            f"99999,9,999999999,20,0.1,0,88,0.2,{v.precipitation:.1f},1.0"
        )
    (folder / "town.epw").write_text("\n".join([*head, *rows]) + "\n", encoding="utf-8")


def _shipped(name: str, target: str) -> Callable[[Path], None]:
    """A file that comes with pvlib."""

    def make(folder: Path) -> None:
        shutil.copy(Path(pvlib.__file__).parent / "data" / name, folder / target)

    return make


def _canonical(folder: Path) -> None:
    year(PLACES[1], 0).to_netcdf(folder / "town.nc")


def _record(folder: Path) -> None:
    wall, draw, _ = drawn(1, 0)
    save(simulate_loads(wall, random_surroundings(wall, draw, 240)), folder / "wall.nc")


MAKERS: dict[str, Callable[[Path], None]] = {
    "case.toml": _case,
    "made.toml": _made,
    "one.study": _study,
    "town.epw": _epw,
    "town.tm2": _shipped("12839.tm2", "town.tm2"),
    "tmy3.csv": _shipped("723170TYA.CSV", "tmy3.csv"),
    "town.nc": _canonical,
    "wall.nc": _record,
}
