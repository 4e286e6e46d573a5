"""How much a wall of a case bears, for any number in its tables: from a path to its verdict.

Owns that step alone. The path is that of `set_value`: ``wall."name".leaks.rain.fraction``,
``room.home.rh``; values are in the SI unit of the key.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import xarray as xr

from hygro.assess.verdict import Verdict
from hygro.case.model import Case, CaseWall, from_data
from hygro.case.template import set_value, split_path
from hygro.errors import InputError
from hygro.study.runs import Judging
from hygro.study.tolerance import judged


def verdict_along(
    case: Case, climate: xr.Dataset, wall: str, path: str
) -> Callable[[float], Verdict]:
    """Return the verdict on a wall as a function of one number of the case.

    Parameters
    ----------
    case, climate
        As `prepare` returns them.
    wall : str
        The wall that is judged, with its leaks.
    path : str
        Where the number stands.

    Raises
    ------
    InputError
        No such wall or path, or the path of another wall; `CaseError` for a value outside the
        bounds of the key.
    """
    parts = split_path(path)
    if parts[0] == "wall" and parts[1:2] != [wall]:
        raise InputError(f"path {path!r}: leads to another wall than '{wall}', which is judged")
    rained = {item.name: item.wall.outside.rain_method is not None for item in case.walls}

    def at(value: float) -> CaseWall:
        item = from_data(set_value(case.data, path, value), path=case.path).wall(wall)
        if rained[wall]:
            return item
        dry = replace(item.wall.outside, rain_method=None)
        return replace(item, wall=replace(item.wall, outside=dry))

    def build(value: float) -> tuple:
        item = at(value)
        return item.wall, item.room

    judging = Judging(case.criteria, case.skip_days, case.mould_model)
    sheathing = case.wall(wall).sheathing
    return judged(
        build,
        climate,
        settings=case.settings,
        judging=judging,
        sheathing=sheathing,
        repeat=case.repeat,
    )
