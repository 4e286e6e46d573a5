"""Forty walls with the verdict a practitioner expects: runs them and asks each expectation.

`python -m benchmarks.forty_walls` prints what is found, `--write` puts it into
docs/forty-walls.md. The walls, what is expected and its sources are data, in
`cases/forty_walls/walls.toml`.
"""

from __future__ import annotations

import sys
import time
import tomllib
from collections.abc import Iterable, Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

import xarray as xr

import weather
from benchmarks.common import record
from benchmarks.forty_checks import Check, checks
from benchmarks.forty_page import page
from benchmarks.generator import FITTED, OTHERS, year_of
from hygro.case.normals import read_normals
from hygro.case.template import expand, standing
from hygro.declare import read_or_refuse
from hygro.room.models import Room
from hygro.room.rooms import AnyRoom
from hygro.solve.settings import Settings
from hygro.study.compare import Compared, paired
from hygro.study.plan import Candidate, PlannedRun, plan
from hygro.study.runs import Judging
from hygro.study.together import perform_together
from hygro.wall.wall import Wall, unrained
from weather.series import repeat_years

DATA = Path("cases/forty_walls/walls.toml")
PAGE = Path("docs/forty-walls.md")
JULY, YEAR = 4344, 8760
"""Hours from 1 January to 1 July, when every wall is closed; hours of a year."""


class Row(NamedTuple):
    """A wall, where it stands, and what is expected of it."""

    number: int
    wall: Wall
    place: str
    room: str
    table: Mapping[str, Any]
    """Keys of the data beside the wall: `judge`, `also`, `why`, `source`, `known`; `contradicted`
    by the place of the expectation."""


class Judged(NamedTuple):
    """A row with what was found."""

    row: Row
    found: Compared
    checks: tuple[Check, ...]


@cache
def data() -> dict[str, Any]:
    return tomllib.loads(DATA.read_text(encoding="utf-8"))


@cache
def rows() -> tuple[Row, ...]:
    """The walls in the order of the page."""
    given = data()
    beside = ("judge", "also", "why", "source", "known")
    tables = [
        {k: v for k, v in wall.items() if k not in beside}
        for wall in (*given["base"], *given["wall"])
    ]
    expanded, problems = expand({"wall": tables})
    assert not problems, problems
    marks = {
        item["wall"]: dict.fromkeys(item["checks"], item["why"]) for item in given["contradicted"]
    }
    whole = {table["name"]: table for table in standing(expanded)["wall"]}
    return tuple(
        Row(
            number,
            read_or_refuse(Wall, whole[entry["name"]], f"wall '{entry['name']}'"),
            entry["judge"]["place"],
            entry["judge"]["room"],
            {key: entry[key] for key in beside if key in entry}
            | {"contradicted": marks.get(entry["name"], {})},
        )
        for number, entry in enumerate(given["wall"], start=1)
    )


@cache
def room(name: str) -> Room:
    found: Room = read_or_refuse(AnyRoom, data()["rooms"][name], f"room '{name}'")
    return found


@cache
def climate(place: str) -> xr.Dataset:
    """A year from July on; real where a package carries it, else generated from normals."""
    named = data()["places"][place]
    if named.endswith(".toml"):
        year = weather.generate(read_normals(DATA.parent / named), years=1, seed=6)
    else:
        year = year_of(next(item for item in (*FITTED, *OTHERS) if item.place == named))
    return repeat_years(year, 2).isel(time=slice(JULY, JULY + YEAR))


def planned(row: Row) -> tuple[PlannedRun, ...]:
    wall = row.wall if weather.has_rain(climate(row.place)) else unrained(row.wall)
    return plan([Candidate(wall, room(row.room), row.room)], place=row.place)


def judge(chosen: Iterable[Row]) -> tuple[Judged, ...]:
    """Run walls, all of one structure side by side, and ask what is expected of each.

    A wall that another is compared with must be among them.
    """
    chosen = list(chosen)
    runs = [(row, run) for row in chosen for run in planned(row)]
    found = perform_together(
        [run for _, run in runs],
        [climate(row.place) for row, _ in runs],
        settings=Settings(),
        judging=Judging(),
    )
    # one by one: a comparison ranks walls of one place
    compared: dict[str, Compared] = {}
    for row in chosen:
        mine = [item for item in found if item.run.name == row.wall.name]
        (compared[row.wall.name],) = paired(mine)
    return tuple(
        Judged(row, compared[row.wall.name], checks(compared[row.wall.name], row.table, compared))
        for row in chosen
    )


def needed(row: Row) -> set[str]:
    """Names of the walls that a row is compared with."""
    return {
        value
        for check in row.table.get("also", ())
        for key, value in check.items()
        if key.endswith("_wall") or key == "ranks_below"
    }


def with_needed(names: Sequence[str]) -> list[Row]:
    """Rows by name, with those that they are compared with."""
    by_name = {row.wall.name: row for row in rows()}
    wanted = dict.fromkeys(names)
    for name in names:
        wanted |= dict.fromkeys(sorted(needed(by_name[name])))
    return [by_name[name] for name in wanted]


def main() -> None:
    began = time.perf_counter()
    found = judge(rows())
    seconds = time.perf_counter() - began
    text = page(found)
    if "--write" in sys.argv:
        PAGE.write_text(text, encoding="utf-8")
        asked = [check for item in found for check in item.checks]
        met = sum(check.holds for check in asked)
        record("forty_walls", {"walls": len(found), "expectations": len(asked), "met": met})
    else:
        print(text)
    print(f"{len(found)} walls in {seconds:.0f} s", file=sys.stderr)


if __name__ == "__main__":
    main()
