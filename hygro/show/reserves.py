"""Reserve bars: how far from the limit, to the right within it, to the left beyond."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from hygro.assess.verdict import Verdict, margin_words
from hygro.show import style
from hygro.show.title_block import TitleBlock, put_title

ROW = 0.26
"""Height of a bar with its words. [in]"""
LETTERS = 52
FACES = {True: "#1f6f78", False: "#8c2f1b", None: "#8a949c"}
HATCHES = {True: "", False: "////", None: ".."}
"""Face and hatch of a bar: within its limit, beyond it, not judged."""


class Bar(NamedTuple):
    """One row: what, the margin as a share of the limit, and whether it is within."""

    label: str
    margin: float | None
    passed: bool | None
    words: str


def bars_of(verdict: Verdict) -> list[Bar]:
    """Return the hard findings of a verdict, the nearest to its limit first."""
    hard = [f for f in verdict.findings if f.hard]
    ranked = sorted(hard, key=lambda f: np.inf if f.margin is None else f.margin)
    return [
        Bar(f"{f.place}: {f.criterion.short or f.criterion.quantity}", f.margin, f.passed,
            margin_words(f.margin) if f.margin is not None else f.outcome)
        for f in ranked
    ]  # fmt: skip


def reserves(bars: Sequence[Bar], *, block: TitleBlock, title: str = "") -> Figure:
    """Draw reserve bars below each other; beyond a whole limit a bar is cut and says its number.

    Parameters
    ----------
    bars : sequence of Bar
        From the top.
    block : TitleBlock
        Stands above.
    title : str
        Third line of the block begins with it.
    """
    width, height = 7.5, ROW * max(len(bars), 1) + 1.5
    figure = style.Sheet(width, height)
    top = put_title(figure, block, title)
    axes = figure.add_axes((0.5, 0.42 / height, 0.4, top - 0.66 / height))
    style.quiet(axes)
    axes.grid(visible=False)
    for row, bar in enumerate(bars):
        _bar(axes, row, bar)
    axes.axvline(0.0, color=style.INK, linewidth=1.2)
    axes.set_xlim(-1.0, 1.0)
    axes.set_ylim(len(bars) - 0.5, -0.5)
    axes.set_yticks([])
    axes.spines["left"].set_visible(False)
    axes.set_xticks([-1, -0.5, 0, 0.5, 1], ["−100 %", "−50 %", "limit", "+50 %", "+100 %"])
    return figure


def _bar(axes: Axes, row: int, bar: Bar) -> None:
    label = textwrap.shorten(bar.label, LETTERS, placeholder=" …")
    axes.text(-0.02, row, label, transform=axes.get_yaxis_transform(), ha="right", va="center",
              fontsize=8, color=style.INK)  # fmt: skip
    axes.text(1.02, row, bar.words, transform=axes.get_yaxis_transform(), va="center", fontsize=8,
              color=style.INK)  # fmt: skip
    if bar.margin is not None:
        axes.barh(row, np.clip(bar.margin, -1.0, 1.0), 0.62, color=FACES[bar.passed],
                  hatch=HATCHES[bar.passed], edgecolor=style.PAPER, linewidth=0.4)  # fmt: skip
