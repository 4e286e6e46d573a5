"""The figure of ranked years: the response of the wall, worst first. Owns its layout."""

from __future__ import annotations

import textwrap

import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.container import BarContainer
from matplotlib.figure import Figure

from hygro.assess.criteria import word_of
from hygro.assess.verdict import margin_words
from hygro.decide.boundary import Array
from hygro.decide.years import NINETY, RankedYears
from hygro.show import style

PANELS = (
    ("mc_30d_max", "Peak moisture content, % by mass", 100.0, 20.0),
    ("mould_index_max", "Highest mould index", 1.0, 3.0),
)
"""Key, title, factor and usual limit."""
NAMED = 16
"""Most years for which there is room to name the criterion that decides."""
MARKED = ((1.0, "worst"), (NINETY, "one in ten"), (0.5, "median"))


def figure(found: RankedYears, *, title: str) -> Figure:
    """Draw years, the worst on the left; those to design with are hatched and named."""
    drawn = Figure(figsize=(9.6, 7.6), dpi=140, facecolor=style.PAPER)
    FigureCanvasAgg(drawn)
    drawn.text(0.075, 0.967, title, fontsize=10.5, color=style.INK, va="center")
    rows = drawn.subplots(1 + len(PANELS), 1, sharex=True)
    drawn.subplots_adjust(left=0.075, right=0.9, top=0.91, bottom=0.1, hspace=0.35)
    _reserve(rows[0], found)
    for axes, panel in zip(rows[1:], PANELS, strict=True):
        _panel(axes, found, panel)
    labels = [str(year.year) for year in found.years]
    rows[-1].set_xticks(np.arange(len(labels)), labels, fontsize=7.5)
    rows[-1].set_xlabel("year of the weather, the worst for this wall first", fontsize=8.5)
    return drawn


def _reserve(axes: Axes, found: RankedYears) -> None:
    """The number by which the years are ranked, and which criterion it is of."""
    results = [year.result for year in found.years]
    margins = np.array([result.margin for result in results])
    values = 100.0 * np.clip(np.nan_to_num(margins), -1.0, 1.0)
    title = "Reserve by which the years are ranked, % of the limit that decides"
    bars = _bars(axes, found, values, title)
    axes.axhline(0.0, color=style.LIMIT, linewidth=1.2, linestyle=(0, (5, 2)))
    axes.annotate(
        "limit", (1.0, 0.0), xycoords=("axes fraction", "data"), xytext=(4, 0),
        textcoords="offset points", fontsize=7.5, ha="left", va="center", color=style.LIMIT,
    )  # fmt: skip
    axes.set_ylim(*_room(values))
    named = len(results) <= NAMED
    for bar, value, result in zip(bars, values, results, strict=True):
        why = textwrap.fill(word_of(result.criterion), 9) if named else ""
        axes.annotate(
            f"{margin_words(result.margin)}\n{why}".strip(),
            (bar.get_x() + 0.5 * bar.get_width(), value),
            xytext=(0, 3 if value > 0.0 else -3),
            textcoords="offset points", ha="center", va="bottom" if value > 0.0 else "top",
            fontsize=6.5, color=style.INK, rotation=0 if named else 90,
        )  # fmt: skip


def _room(values: Array) -> tuple[float, float]:
    """Ends of the axis of the reserve: the limit within, and room for words beyond the bars."""
    low, high = min(0.0, float(values.min())), max(0.0, float(values.max()))
    more = 0.5 * max(high - low, 1.0)
    return low - (more if low < 0.0 or high == 0.0 else 0.0), high + (more if high > 0.0 else 2.0)


def _panel(axes: Axes, found: RankedYears, panel: tuple[str, str, float, float]) -> None:
    key, title, factor, limit = panel
    values = factor * np.array([y.result.numbers.get(key, np.nan) for y in found.years])
    _bars(axes, found, values, title)
    axes.axhline(limit, color=style.LIMIT, linewidth=1.2, linestyle=(0, (5, 2)))
    top = 1.3 * max(float(np.nanmax(values)), limit)
    axes.set_ylim(0.0, top)
    axes.annotate(
        f"usual limit {limit:g}", (1.0, limit), xycoords=("axes fraction", "data"),
        xytext=(4, 0), textcoords="offset points", fontsize=7.5, ha="left", va="center",
        color=style.LIMIT,
    )  # fmt: skip
    for place, names in marked(found).items():
        axes.annotate(
            "\n".join(names), (place, values[place]), xytext=(0, 2), textcoords="offset points",
            ha="center", va="bottom", fontsize=7.5, color=style.INK,
            bbox={"facecolor": style.PAPER, "edgecolor": "none", "pad": 0.5, "alpha": 0.85},
        )  # fmt: skip


def _bars(axes: Axes, found: RankedYears, values: Array, title: str) -> BarContainer:
    """Bars in the order of the years, those to design with hatched."""
    style.quiet(axes)
    axes.set_title(title, fontsize=8.5, loc="left", color=style.INK)
    bars = axes.bar(
        np.arange(len(values)), values, 0.7, color="#dfe5e8", edgecolor=style.FAINT, linewidth=0.7
    )
    for place in marked(found):
        bars[place].set_hatch("////")
        bars[place].set_edgecolor(style.INK)
    axes.set_xlim(-0.7, len(values) - 0.3)
    return bars


def marked(found: RankedYears) -> dict[int, list[str]]:
    """Places of the years to design with, and what each is."""
    names: dict[int, list[str]] = {}
    for severity, name in MARKED:
        place = found.at(severity).rank - 1
        names.setdefault(place, []).append(name)
    return names
