"""How much more walls bear: what each has and how far it may go, one number at a time."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Mapping, Sequence
from typing import NamedTuple

from matplotlib.axes import Axes

from hygro.show import style, words
from hygro.show.title_block import TitleBlock, put_title
from hygro.study.compare import Compared
from hygro.study.reserve import Bound, Reserve, bears, per_cent
from hygro.units import System, show

ROW = 0.4
"""Height of a wall. [in]"""
LETTERS = 24


class Scale(NamedTuple):
    """How one of the numbers is drawn: its title, the ends of the axis, words of a value."""

    title: str
    ends: tuple[float, float]
    steep: bool
    least: bool
    words: Callable[[float], str]


def scales(system: System) -> Mapping[str, Scale]:
    """Return the scales of the three numbers."""

    def resistance(value: float) -> str:
        return show(value, "thermal resistance", system=system)

    return {
        "winter_rh": Scale("RH in winter", (0.0, 1.0), False, False, per_cent),
        "rain": Scale("Rain leaking in", (0.0005, 0.2), True, False, per_cent),
        "outboard": Scale("R outboard", (0.1, 20.0), True, True, resistance),
    }


def borne(
    walls: Sequence[tuple[str, Reserve]], *, block: TitleBlock, system: System = "si"
) -> style.Sheet:
    """Draw a row for each wall and a panel for each number: from what it has to what it bears.

    Parameters
    ----------
    walls : sequence of (str, Reserve)
        Name and reserve, from the top.
    block : TitleBlock
        Stands above.
    system : {"si", "ip"}
        Units.
    """
    height = ROW * max(len(walls), 1) + 1.55
    sheet = style.Sheet(7.5, height)
    top = put_title(sheet, block, "ring: as it is; bar: as far as every limit is kept")
    for column, (key, scale) in enumerate(scales(system).items()):
        axes = sheet.add_axes((0.23 + 0.26 * column, 0.2 / height, 0.23, top - 0.5 / height))
        style.quiet(axes)
        axes.grid(visible=False)
        axes.set_title(scale.title, loc="left", fontsize=9, color=style.INK)
        axes.set_xscale("log" if scale.steep else "linear")
        axes.set_xlim(*scale.ends)
        axes.set_ylim(len(walls) - 0.4, -0.6)
        axes.set_xticks([], minor=True)
        axes.set_xticks([])
        axes.set_yticks([])
        for row, (name, reserve) in enumerate(walls):
            if column == 0:
                axes.text(-0.03, row, textwrap.shorten(name, LETTERS, placeholder=" …"),
                          transform=axes.get_yaxis_transform(), ha="right", va="center",
                          fontsize=8, color=style.INK)  # fmt: skip
            _bound(axes, row, reserve.bounds[key], scale)
    return sheet


def reserves_of(
    compared: Sequence[Compared], *, title: str, system: System = "si"
) -> style.Sheet | None:
    """Draw the reserves of compared walls; None where one was not searched whole."""
    found = [(x.name, x.reserve) for x in compared if x.reserve is not None and x.reserve.whole]
    if not found or len(found) < len(compared):
        return None
    told = words.circumstances([outcome for item in compared for outcome in item.outcomes])
    return borne(found, block=TitleBlock(title, told, "one number at a time"), system=system)


def _bound(axes: Axes, row: int, bound: Bound | None, scale: Scale) -> None:
    told = bears(bound, scale.words, least=scale.least)
    if bound is not None:
        low, high = scale.ends
        has = min(max(bound.present, low), high)
        told = f"{scale.words(bound.present)} → {told}"
        if bound.value is not None:
            beyond = scale.least is (bound.value > bound.present)
            axes.plot([has, min(max(bound.value, low), high)], [row, row], linewidth=5.0,
                      solid_capstyle="butt", zorder=2,
                      color="#8c2f1b" if beyond else style.PENS[1].color)  # fmt: skip
        axes.plot([has], [row], "o", markersize=5.5, markerfacecolor=style.PAPER, zorder=3,
                  markeredgecolor=style.INK)  # fmt: skip
    axes.text(0.0, row - 0.33, told, transform=axes.get_yaxis_transform(), va="center",
              fontsize=7.5, color=style.INK)  # fmt: skip
