"""How far a number of a case may go: from its path in the tables to trials of the wall.

Owns that step alone. The path is that of `set_value`: ``wall."name".leaks.rain.fraction``,
``room.home.rh``.
"""

from __future__ import annotations

import xarray as xr

from hygro.case.judging import judging
from hygro.case.model import Case, from_data
from hygro.errors import InputError, near_matches
from hygro.paths import check_number, set_value, split_path
from hygro.room.models import Room
from hygro.study.limit import judged
from hygro.study.trials import Judge
from hygro.wall.wall import Wall, unrained


def named_wall(case: Case, path: str) -> str | None:
    """Return the name of the wall that a path leads into, None where it leads elsewhere.

    Raises
    ------
    InputError
        The path is malformed or leads to a wall that the case does not have.
    """
    head, *rest = split_path(path)
    if head != "wall" or not rest:
        return None
    names = [str(table["name"]) for table in case.data["wall"]]
    if isinstance(rest[0], int) and rest[0] < len(names):
        return names[rest[0]]
    if rest[0] not in names:
        raise InputError(f"path {path!r}: no such wall; {near_matches(str(rest[0]), names)}")
    return str(rest[0])


def judge_along(case: Case, climate: xr.Dataset, wall: str, path: str, *, unit: str = "") -> Judge:
    """Return the trials of a wall as a function of one number of the case.

    Parameters
    ----------
    case, climate
        As `prepare` returns them.
    wall : str
        The wall that is judged, without and with its leaks.
    path : str
        Where the number stands.
    unit : str
        Unit of the number; SI where empty.

    Raises
    ------
    InputError
        No such wall or path, or the path of another wall; `CaseError` for a value outside the
        bounds of the key.
    """
    check_number(path)
    led = named_wall(case, path)
    if led is not None and led != wall:
        raise InputError(f"path {path!r}: leads to another wall than '{wall}', which is judged")
    rained = case.wall(wall).wall.outside.rain_method is not None

    def build(value: float) -> tuple[Wall, Room]:
        written = f"{value!r} {unit}" if unit else value
        item = from_data(set_value(case.data, path, written), path=case.path).wall(wall)
        return item.wall if rained else unrained(item.wall), item.room

    return judged(
        build,
        climate,
        settings=case.settings,
        judging=judging(case),
        repeat=case.repeat,
    )
