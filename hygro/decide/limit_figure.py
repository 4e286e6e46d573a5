"""The figure of a limit: the reserve over the number that varies. Owns its layout."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from hygro.decide.limit import Limited
from hygro.decide.tables import shown
from hygro.show import style
from hygro.show.reserves import FACES
from hygro.show.title_block import TitleBlock, put_title
from hygro.study.limit import STEEP

HEIGHT = 3.4
"""Of the figure. [in]"""
MOST = 100.0
"""Reserve at which the axis ends, to either side. [% of the limit]"""


def figure(found: Limited, *, title: str) -> Figure:
    """Draw the reserve at every value tried, the windows shaded, each edge with its number."""
    sheet = style.Sheet(7.5, HEIGHT)
    block = TitleBlock(title, f"{found.along.says}: {windows(found)}", "; ".join(turns(found)))
    top = put_title(sheet, block, "reserve of the worst run")
    axes = sheet.add_axes((0.085, 0.15, 0.88, top - 0.15 - 0.22 / HEIGHT))
    style.quiet(axes)
    low, high = (trial.value for trial in (found.limit.trials[0], found.limit.trials[-1]))
    if low > 0.0 and high / low > STEEP:
        axes.set_xscale("log")
        axes.xaxis.set_major_formatter(lambda x, _: f"{x:g}")
    axes.set_xlim(low, high)
    axes.set_ylim(-MOST, MOST)
    axes.set_yticks([-100, -50, 0, 50, 100], ["−100 %", "−50 %", "limit", "+50 %", "+100 %"])
    axes.set_xlabel(found.along.label(), fontsize=8.5, color=style.INK)
    _windows(axes, found)
    _reserve(axes, found)
    return sheet


def _windows(axes: Axes, found: Limited) -> None:
    places: list[float] = []
    for window in found.limit.windows:
        axes.axvspan(window.first, window.last, color=style.SHADE, alpha=0.6, linewidth=0.0)
        places += [e.inside for e in (window.low, window.high) if e is not None]
    _named(axes, [(x, shown(x)) for x in places], style.INK, "normal")
    axes.axhline(0.0, color=style.INK, linewidth=1.2)
    if found.own is not None and axes.get_xlim()[0] <= found.own <= axes.get_xlim()[1]:
        axes.axvline(found.own, color=style.LIMIT, linewidth=1.1, linestyle=(0, (1, 2)))
        axes.text(found.own, 0.02, f" as written: {shown(found.own)}", fontsize=8,
                  transform=axes.get_xaxis_transform(), color=style.LIMIT,
                  ha="left" if _share(axes, found.own) < 0.7 else "right")  # fmt: skip


def _named(axes: Axes, places: Sequence[tuple[float, str]], colour: str, weight: str) -> None:
    """Write the numbers of edges above the axes, apart where they are close."""
    shares = style.apart([_share(axes, x) for x, _ in places], 0.09, 0.02, 0.98)
    for (x, text), share in zip(places, shares, strict=True):
        axes.axvline(x, color=colour, linewidth=0.8)
        axes.annotate(text, (x, 1.0), xycoords=axes.get_xaxis_transform(),
                      xytext=(share, 1.025), textcoords="axes fraction", ha="center",
                      fontsize=8, color=colour, weight=weight)  # fmt: skip


def _share(axes: Axes, x: float) -> float:
    """Where a value stands along the axis. [1]"""
    place = axes.transData + axes.transAxes.inverted()
    return float(place.transform((x, 0.0))[0])


def _reserve(axes: Axes, found: Limited) -> None:
    """The line of all that were judged; a mark at each, another where it is beyond."""
    pairs = zip(found.limit.trials, found.results, strict=True)
    rows = [(t.value, r.margin, t.passed) for t, r in pairs if not math.isnan(r.margin)]
    x = np.array([row[0] for row in rows])
    y = np.clip([100.0 * row[1] for row in rows], -MOST, MOST)
    axes.plot(x, y, color=style.INK, linewidth=1.0, zorder=3)
    within = np.array([row[2] for row in rows], dtype=bool)
    for mark, chosen, passed in (("o", within, True), ("X", ~within, False)):
        axes.plot(x[chosen], y[chosen], mark, color=FACES[passed], markersize=5.5, zorder=4,
                  clip_on=False)  # fmt: skip


def windows(found: Limited) -> str:
    """Say where the wall is within limits."""
    told = [found.along.said_from(w.first, w.last) for w in found.limit.windows]
    return (
        f"within limits at {' and '.join(told)}" if told else "beyond limits at every value tried"
    )


def turns(found: Limited) -> list[str]:
    """Say what decides beyond each edge; at the highest value where no window is."""
    at = {t.value: r for t, r in zip(found.limit.trials, found.results, strict=True)}
    told = []
    for window in found.limit.windows:
        for side, edge in (("below", window.low), ("above", window.high)):
            if edge is not None:
                told.append(f"{side}: {_decides(at[edge.outside].decides)}")
    if not found.limit.windows:
        told.append(_decides(at[found.limit.trials[-1].value].decides))
    return list(dict.fromkeys(told))


def _decides(words: str) -> str:
    return textwrap.shorten(words, 60, placeholder=" …") or "not computed"
