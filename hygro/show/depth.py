"""Depth–time maps: time across, depth down, the outdoor surface at the top."""

from __future__ import annotations

import math
from collections.abc import Sequence

import matplotlib.dates as dates
import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from hygro.assess.field import Band, DepthTime
from hygro.quantities import INCH
from hygro.show import style
from hygro.show.axes import months_axis
from hygro.show.scales import SCALES, Scale
from hygro.show.title_block import TitleBlock, put_title
from hygro.units import System

QUANTITIES = ("relative_humidity", "temperature", "water_content")
PANEL_HEIGHT = 2.4
LABEL = 20
"""Letters of the name of a layer beside a map."""
GAP_OF_LABELS = 0.075
"""Least distance of such names as a share of the height of a map."""


def depth_map(
    found: DepthTime,
    quantities: Sequence[str] = QUANTITIES,
    *,
    block: TitleBlock | None = None,
    width: float = 7.5,
    system: System = "si",
) -> Figure:
    """Draw fields over depth and time, one map below the other.

    Parameters
    ----------
    found : DepthTime
        See `hygro.assess.field.depth_time`.
    quantities : sequence of str
        Names of its fields.
    block : TitleBlock, optional
        Stands above.
    width : float
        Of the figure. [in]
    system : {"si", "ip"}
        Units.
    """
    count = len(quantities)
    height = PANEL_HEIGHT * count + (0.85 if block else 0.15)
    figure = style.Sheet(width, height)
    top = put_title(figure, block, step_words(found)) - 0.28 / height
    grid = figure.add_gridspec(
        count, 2, left=0.5 / width, right=1.0 - 0.55 / width, top=top, bottom=0.35 / height,
        hspace=0.38, wspace=1.5 / (width - 3.0) * 2.0, width_ratios=(1.0, 0.025),
    )  # fmt: skip
    for row, name in enumerate(quantities):
        axes, key = figure.add_subplot(grid[row, 0]), figure.add_subplot(grid[row, 1])
        scale = SCALES[name]
        _map(axes, found, name, scale, system)
        _key(key, scale, system)
        if row < count - 1:
            axes.tick_params(labelbottom=False)
    return figure


def step_words(found: DepthTime) -> str:
    """Say what a column of a map is."""
    hours = found.step
    return f"means of {hours} h" if hours % 24 else f"means of {hours // 24} d"


def _map(axes: Axes, found: DepthTime, name: str, scale: Scale, system: System) -> None:
    values = scale.values(found.fields[name], system)
    unit, length = depth_unit(system)
    start = dates.date2num(found.start.astype("datetime64[s]").astype(object))
    across = start + np.arange(len(values) + 1) * found.step / 24.0
    down = length * np.array([found.bands[0].outer, *(band.inner for band in found.bands)])
    colours, norm = scale.painter(system)
    mesh = axes.pcolormesh(across, down, values.T, cmap=colours, norm=norm, rasterized=True)
    mesh.set_edgecolor("none")
    axes.invert_yaxis()
    axes.xaxis_date()
    style.quiet(axes)
    axes.grid(visible=False)
    months_axis(axes)
    axes.margins(x=0.0)
    axes.set_title(scale.heading(system), loc="left", fontsize=9.5, color=style.INK)
    axes.set_ylabel(f"depth, {unit}", fontsize=8, color=style.INK)
    _names(axes, spans(found.bands), length)


def spans(bands: Sequence[Band]) -> list[Band]:
    """Whole layers and gaps from their bands, outside to inside."""
    found: list[Band] = []
    for band in bands:
        if found and found[-1].name == band.name:
            found[-1] = Band(found[-1].outer, band.inner, band.name, band.gap)
        else:
            found.append(band)
    return found


def depth_unit(system: System) -> tuple[str, float]:
    """Unit of depth, and how many of it make a metre."""
    return ("in", 1.0 / INCH) if system == "ip" else ("mm", 1000.0)


def _names(axes: Axes, layers: Sequence[Band], length: float) -> None:
    """Write layers beside the map, moved apart, and draw the planes between them."""
    middles = [0.5 * (band.outer + band.inner) / layers[-1].inner for band in layers]
    placed = style.apart(middles, GAP_OF_LABELS, 0.02, 0.98)
    for band, middle, height in zip(layers, middles, placed, strict=True):
        name = band.name if len(band.name) <= LABEL else band.name[: LABEL - 1] + "…"
        axes.plot([1.0, 1.02], [1 - middle, 1 - height], color=style.FAINT, linewidth=0.6,
                  transform=axes.transAxes, clip_on=False)  # fmt: skip
        axes.text(1.025, 1 - height, name, transform=axes.transAxes, fontsize=7.5, va="center",
                  color=style.INK)  # fmt: skip
        axes.axhline(length * band.inner, color=style.INK, linewidth=0.5)


def _key(axes: Axes, scale: Scale, system: System) -> None:
    """Draw the steps of the scale, the breaks beside them."""
    count = len(scale.colours)
    for k, colour in enumerate(scale.colours):
        axes.axhspan(k / count, (k + 1) / count, color=colour, linewidth=0)
    axes.set_xlim(0, 1)
    axes.set_ylim(0, 1)
    axes.set_xticks([])
    axes.yaxis.tick_right()
    axes.set_yticks(
        [(k + 1) / count for k in range(count - 1)], [_short(b) for b in scale.edges(system)]
    )
    axes.tick_params(labelsize=7.5, length=2, colors=style.INK)
    for spine in axes.spines.values():
        spine.set_visible(False)


def _short(value: float) -> str:
    return f"{value:.3g}".replace("-", "−") if math.isfinite(value) else ""
