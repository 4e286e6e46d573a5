"""Compiled code read, or made, by one process before others start that would each make it."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache

from hygro.assess import verdict
from hygro.assess.hourly import of_run
from hygro.errors import HygroError
from hygro.material import Material
from hygro.material.library import get_material
from hygro.record.simulate import march_many
from hygro.solve.ensemble import WORTH
from hygro.solve.lanes import WIDTH
from hygro.wall.elements import Layer
from hygro.wall.series import constant_loads
from hygro.wall.wall import Wall


def read_code(walls: Iterable[int]) -> None:
    """Have at hand the code that marches so many walls together, and what rates them.

    Plain walls run for an hour: 0.5 s where code is kept, a minute or two where it is compiled.
    """
    for width in sorted({WIDTH if count >= WORTH else 1 for count in walls}):
        _run_plain(width)


@cache
def _run_plain(count: int) -> None:
    board = get_material("osb")
    assert isinstance(board, Material)
    wall = Wall("plain", (Layer(board, 0.011),))
    loads = constant_loads(1, (275.0, 600.0), (294.0, 1200.0))
    for _, went in march_many([(wall, loads)] * count, threads=1):
        if not isinstance(went, HygroError):
            verdict(of_run(went))
