"""U of walls by hand: clear, and what studs, metal and joints add to it."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import NamedTuple

from hygro.quantities import QUANTITIES
from hygro.show import style
from hygro.show.title_block import TitleBlock, put_title
from hygro.units import System, convert, show, unit_of

ROW = 0.42
"""Height of a bar with its words. [in]"""
LETTERS = 38
ADDED = ("#d9b58a", "////")
"""Face and hatch of what is added."""


class Bar(NamedTuple):
    """One wall: its clear U and the U with all that interrupts its layers. [W/(m²·K)]"""

    label: str
    clear: float
    effective: float


def transmittance(bars: Sequence[Bar], *, block: TitleBlock, system: System = "si") -> style.Sheet:
    """Draw a bar for each wall from the top: U clear, and hatched what is added.

    Parameters
    ----------
    bars : sequence of Bar
        From the top.
    block : TitleBlock
        Stands above.
    system : {"si", "ip"}
        Units.
    """
    height = ROW * max(len(bars), 1) + 1.5
    sheet = style.Sheet(7.5, height)
    kind = "thermal transmittance"
    unit = unit_of(kind, system=system)
    top = put_title(sheet, block, f"dark: undisturbed layers; hatched: added; {unit}")
    axes = sheet.add_axes((0.36, 0.42 / height, 0.42, top - 0.6 / height))
    style.quiet(axes)
    axes.grid(visible=False)
    factor = convert(1.0, kind, QUANTITIES[kind].shown[system][0])
    for row, bar in enumerate(bars):
        more = bar.effective - bar.clear
        axes.barh(row, factor * bar.clear, 0.6, color=style.PENS[1].color)
        axes.barh(row, factor * more, 0.6, left=factor * bar.clear, color=ADDED[0],
                  hatch=ADDED[1], edgecolor=style.INK, linewidth=0.6)  # fmt: skip
        named = textwrap.shorten(bar.label, LETTERS, placeholder=" …")
        told = f"{show(bar.effective, kind, system=system, unit=False)}  {_added(bar)}"
        for x, side, text in ((-0.02, "right", named), (1.02, "left", told)):
            axes.text(x, row, text, transform=axes.get_yaxis_transform(), ha=side, va="center",
                      fontsize=8, color=style.INK)  # fmt: skip
    axes.set_xlim(left=0.0)
    axes.set_ylim(len(bars) - 0.5, -0.5)
    axes.set_yticks([])
    return sheet


def _added(bar: Bar) -> str:
    share = 100.0 * (bar.effective / bar.clear - 1.0)
    return "as clear" if share < 0.05 else f"+{share:.1f} %" if share < 9.95 else f"+{share:.0f} %"
