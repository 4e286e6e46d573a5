"""How far one number of a wall or its room may go: from a path and a range to the limit.

Owns the step from a path in Python to the trials of `hygro.study.limit`.
"""

from __future__ import annotations

import xarray as xr

from hygro.declare import plain, read_or_refuse
from hygro.errors import must_be
from hygro.paths import check_number, set_value, split_path
from hygro.room.models import Room
from hygro.room.rooms import AnyRoom
from hygro.solve.settings import Settings
from hygro.study.limit import Limit, judged
from hygro.study.limit import limit as find_limit
from hygro.study.plan import Repeat
from hygro.study.runs import Judging
from hygro.study.vary import Variant
from hygro.units import same_unit
from hygro.wall.loads import check_run
from hygro.wall.wall import Wall


def limit(
    wall: Wall,
    climate: xr.Dataset,
    room: Room,
    path: str,
    low: float | str,
    high: float | str,
    *,
    within: float | str | None = None,
    settings: Settings | None = None,
    judging: Judging | None = None,
    repeat: Repeat = "as needed",
) -> Limit:
    """Find the range of one number of a wall or its room in which the wall is within its limits.

    Judged as `compare` judges: tight and with the leaks one by one, all must pass.

    Parameters
    ----------
    wall, climate, room
        As in `simulate`.
    path : str
        Where the number stands, as in a case file: ``layers.sheathing.thickness``,
        ``leaks.rain[0].fraction``, ``room.rh``.
    low, high, within : float or str
        The range, and the width at which an edge counts as found: SI numbers, or texts with one
        unit ("20 mm").
    settings, judging, repeat
        As in `compare`.

    Raises
    ------
    InputError
        The path leads nowhere, or a value is out of its bounds.
    """
    must_be(path, str, "path", "a text, such as 'layers.sheathing.thickness'")
    check_number(path)
    check_run(wall, climate, room)
    for name, value in (("low", low), ("high", high)):
        must_be(value, (int, float, str), name, 'a number or a text with a unit, such as "20 mm"')
    texts = [str(value) for value in (low, high, within) if value is not None]
    (first, last, *width), unit = same_unit(texts)
    judge = judged(
        along(wall, room, path, unit=unit),
        climate,
        settings=settings,
        judging=judging,
        repeat=repeat,
    )
    found = find_limit(judge, first, last, within=width[0] if width else None)
    return found.at(wall.name, path, unit)


def along(wall: Wall, room: Room, path: str, *, unit: str = "") -> Variant:
    """Return wall and room as a function of the number at a path."""
    check_number(path)
    head, *rest = split_path(path)
    in_room = head == "room" and bool(rest)
    table = {"room": plain(room)} if in_room else plain(wall)

    def build(value: float) -> tuple[Wall, Room]:
        changed = set_value(table, path, f"{value!r} {unit}" if unit else value)
        if in_room:
            return wall, read_or_refuse(AnyRoom, changed["room"], "room")
        return read_or_refuse(Wall, changed, f"wall '{wall.name}'"), room

    return build
