"""Least, mean and most across the section, a small panel for each month."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from hygro.assess.envelope import Envelope
from hygro.show import style
from hygro.show.depth import depth_unit, spans
from hygro.show.scales import SCALES, Scale
from hygro.show.title_block import TitleBlock, put_title
from hygro.units import System

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
LIMITS = {"relative_humidity": 80.0, "temperature": 0.0}
"""Dotted line of a quantity, where a number means something."""


def section_envelope(
    found: Envelope,
    quantity: str = "relative_humidity",
    *,
    block: TitleBlock | None = None,
    system: System = "si",
) -> Figure:
    """Draw what a section went through: twelve panels, outdoors on the left of each.

    Parameters
    ----------
    found : Envelope
        See `hygro.assess.envelope.envelope`.
    quantity : str
        Of the envelope.
    block : TitleBlock, optional
        Stands above.
    system : {"si", "ip"}
        Units.
    """
    width, height = 8.4, 6.2 + (0.75 if block else 0.3)
    figure = style.Sheet(width, height)
    scale = SCALES[quantity]
    top = put_title(figure, block, "band: least to most of daily means; line: mean")
    figure.text(0.02, top - 0.2 / height, scale.heading(system), fontsize=9.5, color=style.INK)
    grid = figure.add_gridspec(3, 4, left=0.06, right=0.985, top=top - 0.5 / height,
                               bottom=0.5 / height, hspace=0.38, wspace=0.12)  # fmt: skip
    unit, length = depth_unit(system)
    edges = length * np.array([found.bands[0].outer, *(band.inner for band in found.bands)])
    layers = [scale.values(v, system) for v in (found.least, found.mean, found.most)]
    low, high = float(np.nanmin(layers[0])), float(np.nanmax(layers[2]))
    for m, name in enumerate(MONTHS):
        axes = figure.add_subplot(grid[m // 4, m % 4])
        _month(axes, edges, [values[m] for values in layers])
        for band in spans(found.bands)[:-1]:
            axes.axvline(length * band.inner, color=style.GRID, linewidth=0.8, zorder=0)
        if quantity in LIMITS:
            axes.axhline(
                _limit(quantity, scale, system),
                color=style.LIMIT,
                linewidth=1.1,
                linestyle=(0, (1, 2)),
            )
        axes.set_ylim(*((0.0, 100.0) if quantity == "relative_humidity" else (low, high)))
        axes.set_xlim(edges[0], edges[-1])
        axes.set_title(name, loc="left", fontsize=9, color=style.INK, pad=3)
        axes.tick_params(labelleft=m % 4 == 0, labelbottom=m >= 8)
    figure.text(0.5, 0.12 / height, f"depth from the outdoor surface, {unit}", fontsize=8,
                color=style.INK, ha="center")  # fmt: skip
    return figure


def _limit(quantity: str, scale: Scale, system: System) -> float:
    """The dotted line in the unit shown."""
    si = (LIMITS[quantity] - scale.si.offset) / scale.si.factor
    return float(scale.values(si, system))


def _month(axes: Axes, edges: np.ndarray, values: list[np.ndarray]) -> None:
    """Bands as steps: a cell has one value."""
    style.quiet(axes)
    axes.locator_params(axis="x", nbins=4)
    least, mean, most = (np.append(v, v[-1]) for v in values)
    axes.fill_between(edges, least, most, step="post", color=style.SHADE, linewidth=0.0)
    axes.step(edges, mean, where="post", color=style.INK, linewidth=1.3)
