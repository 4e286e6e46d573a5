"""What a record holds of one wall, worked out for some instants side by side in lanes.

No lane sees another, so it is what instant after instant gives, to the same bits.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numba import config
from numpy.typing import NDArray

from hygro.solve.kernels.abreast import lay, take
from hygro.solve.kernels.arrays import HourlyLoads, WallArrays, Work
from hygro.solve.kernels.compiler import by_width
from hygro.solve.kernels.report import report as report_kernel
from hygro.solve.lanes import WIDTH, LaneArray, each_on_lines, on_lines
from hygro.solve.setup import INSTANTS, Array
from hygro.types import Data

LANES = 1 if config.DISABLE_JIT else WIDTH  # type: ignore[attr-defined]
"""Instants side by side; formulas that are not compiled know single numbers only."""
report = by_width(report_kernel)
GIVEN = ("T", "u", "gap_rate")
"""Results that the march writes and the report reads."""
REPORTED = ("rh", "w", "ice", "interface_T", "interface_p", "gap_T", "gap_p")
"""Results of the report, in the order in which it writes them."""
READ = ("node", "b", "air", "gap_rate", "source_rate", "room_p")
"""Scratch that the report needs."""
LOADS = ("instant", "mean", "source", "source_instant", "air")
"""Loads that it reads."""


class Abreast(NamedTuple):
    """A wall in every lane, and room for the results of some hours, (rows, columns, lanes)."""

    problem: WallArrays
    work: Work
    room: dict[str, Array]
    lanes: tuple[LaneArray, ...]


def stand_abreast(problem: WallArrays, work: Work, out: dict[str, Array]) -> Abreast:
    """Repeat a wall in all lanes, with scratch and room for the results of some instants of each.

    Parameters
    ----------
    problem, work
        Of the wall in one lane.
    out : dict of array
        Room for its results by their names, (instants, columns, 1).
    """
    most, names = _hours_each(len(out["T"]) - 1) + 1, (*GIVEN, *REPORTED)
    rooms = each_on_lines((most, out[name].shape[1], LANES) for name in names)
    room = dict(zip(names, rooms, strict=True))
    walls: Data = {name: _repeated(x) for name, x in _lanes_of(problem)}
    scratch: Data = {
        name: _repeated(x) if name in READ else _none(x) for name, x in _lanes_of(work)
    }
    return Abreast(
        problem._replace(**walls),
        work._replace(**scratch),
        room,
        tuple(LaneArray(x.reshape(-1, LANES)) for x in rooms),
    )


def _lanes_of(group: WallArrays | Work) -> list[tuple[str, LaneArray]]:
    return [(name, x) for name, x in group._asdict().items() if isinstance(x, LaneArray)]


def _repeated(x: LaneArray) -> LaneArray:
    made = on_lines((*x.array.shape[:-1], LANES))
    made[...] = x.array
    return LaneArray(made)


def _none(x: LaneArray) -> LaneArray:
    """No rows of what nobody reads."""
    return LaneArray(np.empty((0, *x.array.shape[1:-1], LANES)))


def report_abreast(wall: Abreast, loads: HourlyLoads, hours: int, out: dict[str, Array]) -> None:
    """Work out what a record holds of some hours of a wall from its march; see `report`."""
    each = _hours_each(hours)
    for name in GIVEN:
        lay(_rows(out, name, hours), each, wall.room[name])
    parts = (_shifted(x, each if name in LOADS else 0) for name, x in loads._asdict().items())
    report(wall.problem, HourlyLoads(*parts), each, wall.work, *wall.lanes)
    for name in REPORTED:
        rows, lanes, skip = _rows(out, name, hours), wall.room[name], int(name in INSTANTS)
        take(lanes[skip:], each, rows[skip:])
        rows[:skip] = lanes[:skip, :, 0]


def _hours_each(hours: int) -> int:
    """Hours of each lane."""
    return -(-hours // LANES)


def _rows(out: dict[str, Array], name: str, hours: int) -> Array:
    """Results of some hours, (hours or instants, columns)."""
    return out[name][: hours + int(name in INSTANTS), :, 0]


def _shifted(series: NDArray[Any], hours: int) -> NDArray[Any]:
    """Loads of each lane from the hour before its first on; after the last hour that holds on."""
    if not hours:
        return series[:, :0]
    rows = hours * np.arange(LANES)[:, None] + np.arange(hours + 2)
    return series[0].take(rows, axis=0, mode="clip")
