"""Metal through insulation over time: its temperature and the humidity it meets."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from hygro.show import style
from hygro.show.axes import end_labels, line, months_axis
from hygro.show.course import PANEL_HEIGHT, WIDTH
from hygro.show.title_block import TitleBlock, put_title

Array = NDArray[np.float64]


class Course(NamedTuple):
    """Daily means at a place: the day, temperature [°C] and relative humidity [1]."""

    label: str
    day: NDArray[np.datetime64]
    temperature: Array
    humidity: Array


def metal_course(runs: Sequence[Course], *, block: TitleBlock) -> style.Sheet:
    """Draw temperature and humidity, a line for each place.

    Parameters
    ----------
    runs : sequence of Course
        Metal, and beside it the face where it ends.
    block : TitleBlock
        Stands above.
    """
    height = 2.0 * PANEL_HEIGHT + 0.9
    sheet = style.Sheet(WIDTH, height)
    top = put_title(sheet, block, "daily means") - 0.3 / height
    grid = sheet.add_gridspec(2, 1, left=0.5 / WIDTH, right=1.0 - 1.6 / WIDTH, top=top,
                              bottom=0.35 / height, hspace=0.42)  # fmt: skip
    for row, (title, key, factor, limit) in enumerate(
        (
            ("Temperature, °C  (dotted: freezing)", "temperature", 1.0, 0.0),
            ("Relative humidity, %  (dotted: 80 %)", "humidity", 100.0, 80.0),
        )
    ):
        axes = sheet.add_subplot(grid[row, 0])
        style.quiet(axes)
        ends = []
        for number, found in enumerate(runs):
            values = factor * getattr(found, key)
            line(axes, found.day, values, number)
            ends.append((found.label, float(values[-1]), number))
        axes.axhline(limit, color=style.LIMIT, linewidth=1.1, linestyle=(0, (1, 2)))
        axes.set_title(title, loc="left", fontsize=9.5, color=style.INK)
        months_axis(axes)
        if row == 0:
            axes.tick_params(labelbottom=False)
        end_labels(axes, ends, gap=0.13)
    return sheet
