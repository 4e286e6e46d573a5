"""The figure of ranked years: the response of the wall, worst first. Owns its layout."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from hygro.decide.years import NINETY, RankedYears
from hygro.show import style

PANELS = (
    ("mc_30d_max", "Peak moisture content, % by mass", 100.0, 20.0),
    ("mould_index_max", "Highest mould index", 1.0, 3.0),
)
"""Key, title, factor and usual limit."""
MARKED = ((1.0, "worst"), (NINETY, "one in ten"), (0.5, "median"))


def figure(found: RankedYears, *, title: str) -> Figure:
    """Draw years, the worst on the left; those to design with are hatched and named."""
    drawn = Figure(figsize=(9.6, 5.6), dpi=140, facecolor=style.PAPER)
    FigureCanvasAgg(drawn)
    drawn.text(0.075, 0.955, title, fontsize=10.5, color=style.INK, va="center")
    rows = drawn.subplots(len(PANELS), 1, sharex=True)
    drawn.subplots_adjust(left=0.075, right=0.9, top=0.88, bottom=0.13, hspace=0.35)
    for axes, panel in zip(rows, PANELS, strict=True):
        _panel(axes, found, panel)
    labels = [str(year.year) for year in found.years]
    rows[-1].set_xticks(np.arange(len(labels)), labels, fontsize=7.5)
    rows[-1].set_xlabel("year of the weather, the worst for this wall first", fontsize=8.5)
    return drawn


def _panel(axes: Axes, found: RankedYears, panel: tuple[str, str, float, float]) -> None:
    key, title, factor, limit = panel
    values = factor * np.array([y.result.numbers.get(key, np.nan) for y in found.years])
    style.quiet(axes)
    axes.set_title(title, fontsize=8.5, loc="left", color=style.INK)
    bars = axes.bar(
        np.arange(len(values)), values, 0.7, color="#dfe5e8", edgecolor=style.FAINT, linewidth=0.7
    )
    axes.axhline(limit, color=style.LIMIT, linewidth=1.2, linestyle=(0, (5, 2)))
    top = 1.3 * max(float(np.nanmax(values)), limit)
    axes.set_ylim(0.0, top)
    axes.set_xlim(-0.7, len(values) - 0.3)
    axes.annotate(
        f"usual limit {limit:g}", (1.0, limit), xycoords=("axes fraction", "data"),
        xytext=(4, 0), textcoords="offset points", fontsize=7.5, ha="left", va="center",
        color=style.LIMIT,
    )  # fmt: skip
    for place, names in marked(found).items():
        bars[place].set_hatch("////")
        bars[place].set_edgecolor(style.INK)
        axes.annotate(
            "\n".join(names), (place, values[place]), xytext=(0, 2), textcoords="offset points",
            ha="center", va="bottom", fontsize=7.5, color=style.INK,
            bbox={"facecolor": style.PAPER, "edgecolor": "none", "pad": 0.5, "alpha": 0.85},
        )  # fmt: skip


def marked(found: RankedYears) -> dict[int, list[str]]:
    """Places of the years to design with, and what each is."""
    names: dict[int, list[str]] = {}
    for severity, name in MARKED:
        place = found.at(severity).rank - 1
        names.setdefault(place, []).append(name)
    return names
