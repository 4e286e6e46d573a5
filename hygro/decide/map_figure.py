"""The figure of a map: where the wall passes and what decides, with three of its numbers beside.

Owns the layout; grey print tells all of it: line styles, marks and hatches, no colour alone.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.colors import LinearSegmentedColormap
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch
from scipy.interpolate import NearestNDInterpolator

from hygro.assess.criteria import word_of
from hygro.decide.beside import Beside
from hygro.decide.boundary import Array, grid, signed_surface, surface
from hygro.decide.isolines import number_isolines
from hygro.decide.map import Mapped
from hygro.show import style
from hygro.types import Data
from hygro.units import System, convert, count

NOT_COMPUTED = "not computed: nothing is known here"
FINE = 120
"""Points along a side on which fields are drawn."""
SMOOTH = 1e-3
"""How far the isolines may pass by single numbers: the points of a pair are so close that with less
the numerical error between them turns a line round. [1]"""
HATCHES = ("////", "....", "\\\\\\\\", "xxx", "---", "++", "oo", "||")
TONES = ("#e4e7e9", "#d3d8db", "#dfe3dc", "#c9cfd3", "#e9e4dc", "#d8d2c8", "#eeeeee", "#c4c4c4")
SHADES = LinearSegmentedColormap.from_list("shades", ["#ffffff", "#8fa3ad", "#3d5561"])
Panel = tuple[str, str, float, float, Sequence[float]]
"""Key, title, factor, usual limit and isolines of a small panel."""
PANELS: tuple[Panel, ...] = (
    ("mc_30d_max", "Peak moisture content, % by mass", 100.0, 20.0, (8, 12, 16, 20, 24, 28, 35)),
    ("mould_index_max", "Highest mould index", 1.0, 3.0, (0.5, 1, 2, 3, 4, 5)),
    ("condensate", "Condensate, kg/m²", 1.0, 0.5, (0.05, 0.1, 0.2, 0.5, 1, 2, 5)),
)
"""The small panels."""


def figure(found: Mapped, next_to: Beside, *, title: str, system: System = "si") -> Figure:
    """Draw a map."""
    drawn = Figure(figsize=(9.6, 6.6), dpi=140, facecolor=style.PAPER)
    FigureCanvasAgg(drawn)
    cells = drawn.add_gridspec(
        3, 2, width_ratios=(2.1, 1.0), left=0.075, right=0.98, top=0.91, bottom=0.25, wspace=0.2,
        hspace=0.55,
    )  # fmt: skip
    main = drawn.add_subplot(cells[:, 0])
    marks = _verdict(main, found, next_to)
    drawn.text(0.075, 0.965, title, fontsize=10.5, color=style.INK, va="center")
    for k, panel in enumerate(PANELS):
        shown = _in_ip(panel) if system == "ip" else panel
        _number(drawn.add_subplot(cells[k, 1]), found, shown, last=k == len(PANELS) - 1)
    drawn.legend(
        handles=marks, loc="upper left", bbox_to_anchor=(0.07, 0.165), ncols=2, frameon=False,
        fontsize=8, labelcolor=style.INK, handlelength=3.2, columnspacing=2.0, borderaxespad=0.0,
    )  # fmt: skip
    return drawn


def _in_ip(panel: Panel) -> Panel:
    """A panel of a mass per area in ounces to the square foot, its isolines round numbers there."""
    key, title, *_ = panel
    if key != "condensate":
        return panel
    factor = convert(1.0, "mass per area", "oz/ft2")
    levels = (0.2, 0.5, 1.0, 0.5 * factor, 3.0, 6.0, 15.0)
    return key, title.replace("kg/m²", "oz/ft²"), factor, 0.5 * factor, levels


def _verdict(axes: Axes, found: Mapped, next_to: Beside) -> list[Line2D | Patch]:
    """The large panel; returns what stands in the legend."""
    marks: list[Line2D | Patch] = []
    for line in found.lines:
        axes.plot(*line.T, color=style.INK, linewidth=2.4, zorder=4, solid_capstyle="butt")
    if found.lines:
        marks.append(Line2D([], [], color=style.INK, linewidth=2.4, label="just within its limits"))
    marks += _regions(axes, found)
    marks += _not_computed(axes, found)
    for line in next_to.dew_lines:
        axes.plot(*line.T, color=style.LIMIT, linewidth=1.6, linestyle=(0, (5, 2.5)), zorder=3)
    if next_to.dew_lines:
        words = "steady: sheathing at the indoor dew point, three coldest months"
        marks.append(
            Line2D([], [], color=style.LIMIT, linewidth=1.6, linestyle=(0, (5, 2.5)), label=words)
        )
    marks += _code(axes, found, next_to)
    if next_to.own is not None:
        look: Data = {"marker": "*", "markersize": 13, "markeredgecolor": style.PAPER}
        axes.plot(*next_to.own, color=style.INK, zorder=6, linestyle="none", clip_on=False, **look)
        marks.append(Line2D([], [], color=style.INK, linestyle="none", label="as written", **look))
    at = found.scaled(found.where)
    tried: Data = {"marker": "o", "markersize": 1.8, "linestyle": "none", "alpha": 0.75}
    axes.plot(*at.T, color=style.FAINT, zorder=2.5, clip_on=False, **tried)
    words = counted_points(len(at), sum(bool(r.error) for r in found.results))
    marks.append(Line2D([], [], color=style.FAINT, label=words, **tried))
    _frame(axes, found)
    axes.set_xlabel(found.x.label(), fontsize=8.5, color=style.INK)
    axes.set_ylabel(found.y.label(), fontsize=8.5, color=style.INK)
    axes.set_title("Verdict: within limits where white", fontsize=9, loc="left", color=style.INK)
    return marks


def _code(axes: Axes, found: Mapped, next_to: Beside) -> list[Line2D | Patch]:
    if next_to.code is None:
        return []
    d = found.x if next_to.code_on == "x" else found.y
    low, high = d.ends
    inside = low <= next_to.code <= high
    look: Data = {"color": style.INK, "linewidth": 1.1, "linestyle": (0, (6, 2, 1, 2))}
    if inside:
        draw = axes.axvline if next_to.code_on == "x" else axes.axhline
        draw(next_to.code, zorder=3, **look)
    beyond = "" if inside else ", beyond this range"
    return [Line2D([], [], label=next_to.code_words + beyond, **look)]


def _regions(axes: Axes, found: Mapped) -> list[Line2D | Patch]:
    """Hatched by the criterion that decides, as far as the wall is beyond its limits."""
    known = [(w, r) for w, r in zip(found.where, found.results, strict=True) if r.criterion]
    wrong = [(w, r) for w, r in known if r.passed is False]
    if not wrong:
        return []
    names = list(dict.fromkeys(r.criterion for _, r in wrong))
    nearest = NearestNDInterpolator(
        np.array([w for w, _ in wrong]), [names.index(r.criterion) for _, r in wrong]
    )
    where = grid(FINE)
    beyond = beyond_limits(found, where)
    which = np.where(beyond, nearest(where), -1).reshape(FINE, FINE)
    x, y = _sides(found)
    marks: list[Line2D | Patch] = []
    for k, name in enumerate(names):
        if not (which == k).any():
            continue
        tone, hatch = TONES[k % len(TONES)], HATCHES[k % len(HATCHES)]
        axes.contourf(
            x, y, (which == k).astype(float).T, levels=(0.5, 1.5), colors=[tone], hatches=[hatch],
            zorder=1,
        )  # fmt: skip
        marks.append(
            Patch(
                facecolor=tone,
                hatch=hatch,
                edgecolor=style.FAINT,
                label=f"beyond the limit of: {word_of(name)}",
            )
        )
    for made in axes.collections:
        made.set_edgecolor(style.FAINT)
        made.set_linewidth(0.0)
    return marks


def counted_points(tried: int, failed: int) -> str:
    """How many points were tried, and how many of them not computed."""
    return f"{count(tried, 'point')} tried" + (f", {failed} not computed" if failed else "")


def unknown(found: Mapped, where: Array) -> Array:
    """Whether the nearest point tried is one that could not be computed, at points of the square.

    (n,) of (n, 2) in the unit square.
    """
    failed = np.array([bool(r.error) for r in found.results])
    if not failed.any():
        return np.zeros(len(where), dtype=bool)
    nearest = NearestNDInterpolator(np.asarray(found.where), failed.astype(float))
    return np.asarray(nearest(where) > 0.5)


def _not_computed(axes: Axes, found: Mapped) -> list[Line2D | Patch]:
    """A grid over what nobody knows: nothing of it shall look like a wall that passes."""
    holes = unknown(found, grid(FINE)).reshape(FINE, FINE)
    if not holes.any():
        return []
    x, y = _sides(found)
    made = axes.contourf(
        x, y, holes.astype(float).T, levels=(0.5, 1.5), colors=[style.PAPER], hatches=["+++++"],
        zorder=2,
    )  # fmt: skip
    made.set_edgecolor(style.FAINT)
    made.set_linewidth(0.0)
    return [Patch(facecolor=style.PAPER, hatch="+++++", edgecolor=style.FAINT, label=NOT_COMPUTED)]


def beyond_limits(found: Mapped, where: Array) -> Array:
    """Whether the wall is beyond its limits at points of the unit square, by what was tried."""
    return np.asarray(signed_surface(found.where, found.margins, where) < 0.0)


def _sides(found: Mapped) -> tuple[Array, Array]:
    side = np.linspace(0.0, 1.0, FINE)
    at = found.scaled(np.stack([side, side], axis=1))
    return at[:, 0], at[:, 1]


def smoothed(where: Array, values: Array) -> Array:
    """A number that is never below 0 over the fine grid; rows upward. (FINE, FINE)"""
    found = surface(where, values, grid(FINE), SMOOTH)
    return np.asarray(np.maximum(found, 0.0).reshape(FINE, FINE).T)


def _number(
    axes: Axes,
    found: Mapped,
    panel: Panel,
    *,
    last: bool,
) -> None:
    key, title, factor, limit, levels = panel
    values = factor * found.number(key)
    known = np.isfinite(values)
    axes.set_title(title, fontsize=8.5, loc="left", color=style.INK)
    _frame(axes, found)
    if not last:
        axes.tick_params(labelbottom=False)
    if known.sum() < 4:
        axes.text(0.5, 0.5, "not rated", transform=axes.transAxes, ha="center", fontsize=8)
        return
    x, y = _sides(found)
    field = smoothed(found.where, values)
    field[unknown(found, grid(FINE)).reshape(FINE, FINE).T] = np.nan
    top = float(np.nanmax(values))
    inside = [level for level in levels if np.nanmin(field) < level < top]
    axes.contourf(x, y, field, levels=[-1e-9, *inside, max(top, float(np.nanmax(field))) + 1e-9],
                  cmap=SHADES, alpha=0.75)  # fmt: skip
    if inside:
        widths = [1.8 if level == limit else 0.7 for level in inside]
        made = axes.contour(x, y, field, levels=inside, colors=style.INK, linewidths=widths)
        number_isolines(axes, made, first=limit)
    else:
        ends = list(dict.fromkeys(f"{end:.2g}" for end in (values[known].min(), top)))
        said = " to ".join(ends) if ends[1:] else f"{ends[0]} everywhere"
        axes.text(
            0.5, 0.5, said, transform=axes.transAxes,
            ha="center", fontsize=8, color=style.INK,
        )  # fmt: skip


def _frame(axes: Axes, found: Mapped) -> None:
    axes.set_xlim(*found.x.ends)
    axes.set_ylim(*found.y.ends)
    axes.tick_params(colors=style.INK, labelsize=7.5, length=3, color=style.FAINT)
    for side in axes.spines.values():
        side.set_color(style.FAINT)
