"""The figure of a sample: two distributions, what matters most, and how the answer settled."""

from __future__ import annotations

from collections.abc import Sequence
from textwrap import fill

import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.text import Annotation
from matplotlib.ticker import MaxNLocator

from hygro.decide.sample import FIRST, TAILS, Sampled
from hygro.show import style

HISTOGRAMS = (
    ("mc_30d_max", "Peak moisture content of the sheathing, % by mass", 100.0, 20.0),
    ("mould_index_max", "Highest mould index where it decides", 1.0, 3.0),
)
"""Key, title, factor and usual limit."""
QUANTILES = (("median", 0.5, 0.88), ("95 %", 0.95, 0.79))
"""Name, share of the draws, and how high in the axes it is written."""
BARS = 8
"""Inputs that are drawn."""
LETTERS = 28
"""Of a line of the name of an input."""


def figure(found: Sampled, *, title: str) -> Figure:
    """Draw a sample."""
    drawn = Figure(figsize=(9.6, 6.4), dpi=140, facecolor=style.PAPER)
    FigureCanvasAgg(drawn)
    cells = drawn.add_gridspec(
        2, 2, left=0.075, right=0.98, top=0.86, bottom=0.08, hspace=0.42, wspace=0.62,
        width_ratios=(1.0, 0.85),
    )  # fmt: skip
    drawn.text(0.075, 0.955, title, fontsize=10.5, color=style.INK, va="center")
    drawn.text(0.075, 0.918, words(found), fontsize=8.5, color=style.INK, va="center")
    for k, row in enumerate(HISTOGRAMS):
        _histogram(drawn.add_subplot(cells[k, 0]), found, row)
    _bars(drawn.add_subplot(cells[0, 1]), found)
    _settling(drawn.add_subplot(cells[1, 1]), found)
    return drawn


def words(found: Sampled) -> str:
    """The failure probability in a line."""
    p = found.failing
    return (
        f"beyond its limits in {p.failed} of {p.of} draws: {100 * p.value:.1f} %, "
        f"95 % interval {100 * p.low:.1f} to {100 * p.high:.1f} %"
    )


def _histogram(axes: Axes, found: Sampled, row: tuple[str, str, float, float]) -> None:
    key, title, factor, limit = row
    values = factor * found.number(key)
    style.quiet(axes)
    axes.set_title(title, fontsize=8.5, loc="left", color=style.INK)
    axes.set_ylabel("draws", fontsize=8, color=style.INK)
    axes.yaxis.set_major_locator(MaxNLocator(integer=True))
    if len(values) == 0:
        axes.text(0.5, 0.5, "not rated", transform=axes.transAxes, ha="center", fontsize=8)
        return
    low, high = float(values.min()), max(float(values.max()), limit)
    # edges at 0 and at the limit: no bar lies across them
    step = limit / max(1, round(30 * limit / max(high - low, 1e-9)))
    edges = (step * np.arange(np.floor(low / step), np.floor(high / step) + 2)).tolist()
    inside = values <= limit
    axes.hist(values[inside], edges, color="#dfe5e8", edgecolor=style.FAINT, linewidth=0.6)
    axes.hist(
        values[~inside], edges, color="#aab5bb", edgecolor=style.INK, linewidth=0.6, hatch="////"
    )
    axes.axvline(limit, color=style.LIMIT, linewidth=1.3, linestyle=(0, (5, 2)))
    axes.set_ylim(0, axes.get_ylim()[1] * 1.4)
    beside = limit < low + 0.6 * (high - low)
    axes.annotate(
        f"usual limit {limit:g}", (limit, 1.0), xycoords=("data", "axes fraction"),
        xytext=(4 if beside else -4, -4), textcoords="offset points", fontsize=7.5,
        ha="left" if beside else "right", va="top", color=style.LIMIT,
    )  # fmt: skip
    told = QUANTILES if len(values) >= TAILS else QUANTILES[:1]  # a median alone of few draws
    places = [float(np.quantile(values, share)) for _, share, _ in told]
    for value in places:
        axes.axvline(value, ymax=0.86, color=style.INK, linewidth=0.9, linestyle=":")
    for value, (name, _, top) in zip(places, told, strict=True):
        others = [x for x in (limit, *places) if x != value]
        _beside(axes, value, f"{name} {value:.3g}", top, others)


def _beside(axes: Axes, value: float, text: str, top: float, others: Sequence[float]) -> None:
    """Write beside a line, on its right; on its left where only there no other line is crossed."""
    words = axes.annotate(
        text, (value, top), xycoords=("data", "axes fraction"), textcoords="offset points",
        xytext=(3, -2), fontsize=7, va="top", color=style.INK,
        bbox={"facecolor": style.PAPER, "edgecolor": "none", "pad": 0.6, "alpha": 0.8},
    )  # fmt: skip
    for side, shift in (("left", 3), ("right", -3), ("left", 3)):
        words.set(ha=side, position=(shift, -2))
        if _clear(axes, words, others):
            return


def _clear(axes: Axes, words: Annotation, lines: Sequence[float]) -> bool:
    """Whether words lie within the axes and no line up from these values runs through them."""
    box, ends = words.get_window_extent(), axes.bbox
    at = [float(axes.transData.transform((x, 0.0))[0]) for x in lines]
    return ends.x0 <= box.x0 and box.x1 <= ends.x1 and not any(box.x0 <= x <= box.x1 for x in at)


def _bars(axes: Axes, found: Sampled) -> None:
    axes.set_title(
        "What peak moisture content depends on", fontsize=8.5, loc="left",
        color=style.INK,
    )  # fmt: skip
    rows = found.ranked.get("mc_30d_max", [])[:BARS]
    style.quiet(axes)
    axes.grid(visible=False)
    if not rows:
        axes.set_axis_off()
        axes.text(0.0, 0.9, f"told from {FIRST} draws on", transform=axes.transAxes, fontsize=8)
        return
    at = np.arange(len(rows))[::-1]
    widths = [abs(row.direction) for row in rows]
    ends = np.array([row.interval(len(found.number("mc_30d_max"))) for row in rows]).T
    # hatched only where the interval says which way: it ends at 0 where it does not
    dries = [row.direction < 0.0 and low > 0.0 for row, low in zip(rows, ends[0], strict=True)]
    hatches = ["////" if dry else "" for dry in dries]
    bars = axes.barh(at, widths, height=0.62, color="#dfe5e8", edgecolor=style.INK, linewidth=0.7)
    for bar, hatch in zip(bars, hatches, strict=True):
        bar.set_hatch(hatch)
    both = np.abs(ends - np.array(widths))
    axes.errorbar(widths, at, xerr=both, fmt="none", ecolor=style.INK, elinewidth=0.9, capsize=2)
    axes.set_yticks(at, [fill(found.says(row.name), LETTERS) for row in rows], fontsize=7)
    axes.set_xlim(0.0, 1.0)
    axes.set_xlabel("rank correlation, 95 % interval; hatched: more of it dries", fontsize=7.5)


def _settling(axes: Axes, found: Sampled) -> None:
    style.quiet(axes)
    axes.set_title("Probability of failing as draws came in, %", fontsize=8.5, loc="left",
                   color=style.INK)  # fmt: skip
    draws = [stage.draws for stage in found.stages]
    rows = [stage.failing for stage in found.stages]
    values = 100 * np.array([row.value for row in rows])
    below, above = [r.value - r.low for r in rows], [r.high - r.value for r in rows]
    ends = 100 * np.array([below, above])
    axes.errorbar(
        draws, values, yerr=np.maximum(ends, 0.0), color=style.INK, marker="o", markersize=4,
        linewidth=1.0, capsize=3, elinewidth=0.9,
    )  # fmt: skip
    axes.set_xscale("log", base=2)
    axes.set_xticks(draws, [str(n) for n in draws])
    axes.minorticks_off()
    axes.set_xlabel("draws", fontsize=8)
    axes.set_ylim(0.0, min(105.0, 1.15 * float(np.max(values + ends[1]))))
