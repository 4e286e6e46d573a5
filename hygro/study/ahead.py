"""Code compiled by one process before others start, which would each compile it."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from pathlib import Path

from hygro.assess import verdict
from hygro.assess.hourly import of_run
from hygro.errors import HygroError
from hygro.material import Material
from hygro.material.library import get_material
from hygro.record.many import march_many
from hygro.solve.kernels import march
from hygro.solve.kernels.compiler import cache_folder
from hygro.solve.lanes import WIDTH
from hygro.solve.order import WORTH
from hygro.wall.elements import Layer
from hygro.wall.series import constant_loads
from hygro.wall.wall import Wall


def compile_first(walls: Iterable[int]) -> None:
    """Compile the code that marches so many walls together, and what rates them, unless kept.

    Where it cannot be kept nothing is done: others would not find it.
    """
    if cache_folder() is not None and not kept():
        for width in sorted({WIDTH if count >= WORTH else 1 for count in walls}):
            run_plain(width)


def kept() -> bool:
    """Whether the march lies compiled on disk, alone and side by side, newer than its source."""
    folder, made = cache_folder(), Path(march.__file__).stat().st_mtime
    codes = [] if folder is None else folder.rglob("march.march-*.nbc")
    return sum(code.stat().st_mtime > made for code in codes) >= len((1, WIDTH))


@cache
def run_plain(count: int) -> None:
    """March so many plain walls for an hour and rate them: all that needs is read, or compiled."""
    board = get_material("osb")
    assert isinstance(board, Material)
    wall = Wall("plain", (Layer(board, 0.011),))
    loads = constant_loads(1, (275.0, 600.0), (294.0, 1200.0))
    for _, went in march_many([(wall, loads)] * count, threads=1):
        if not isinstance(went, HygroError):
            verdict(of_run(went))
