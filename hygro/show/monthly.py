"""Water of a wall by month: bars of what came in above zero, of what left below."""

from __future__ import annotations

import numpy as np
from matplotlib.figure import Figure

from hygro.assess.months import MonthlyBalance
from hygro.quantities import QUANTITIES
from hygro.show import style
from hygro.show.title_block import TitleBlock, put_title
from hygro.units import System, convert, unit_of

WAYS = {
    "rain leaks": ("rain leaked in", "#1c2833", ""),
    "air leaks": ("dropped by leaking air", "#5f7d8c", "//"),
    "wettings": ("wetted once", "#9a8f4a", "x"),
    "room": ("through the inner face (room)", "#c08552", ""),
    "outdoors": ("through the outer face (gap or outdoors)", "#8fb3b3", "--"),
    "drained": ("drained", "#e0d0ae", "\\\\"),
}
"""Words, face and hatch of each way, from zero outward."""
LEAST = 1e-4
"""A way that never brought as much in a month is left out. [kg/m²]"""


def monthly(
    found: MonthlyBalance,
    *,
    block: TitleBlock | None = None,
    width: float = 7.5,
    system: System = "si",
) -> Figure:
    """Draw the balance of the layers behind the cladding by month.

    Parameters
    ----------
    found : MonthlyBalance
        See `hygro.assess.months.monthly_balance`.
    block : TitleBlock, optional
        Stands above.
    width : float
        Of the figure. [in]
    system : {"si", "ip"}
        Units.
    """
    height = 3.1 + (0.75 if block else 0.0)
    figure = style.Sheet(width, height)
    top = put_title(figure, block, f"from '{found.layers[0]}' inward") - 0.28 / height
    axes = figure.add_axes((0.6 / width, 0.95 / height, 1 - 0.75 / width, top - 0.95 / height))
    style.quiet(axes)
    across = np.arange(len(found.month))
    factor = water_factor(system)
    above, below = np.zeros(len(across)), np.zeros(len(across))
    for key, (label, face, hatch) in WAYS.items():
        if np.abs(found.flows[key]).max() < LEAST:
            continue
        values = factor * found.flows[key]
        base = np.where(values >= 0.0, above, below)
        axes.bar(across, values, 0.72, bottom=base, color=face, hatch=hatch, label=label,
                 edgecolor=style.PAPER, linewidth=0.3)  # fmt: skip
        above += np.maximum(values, 0.0)
        below += np.minimum(values, 0.0)
    axes.plot(across, factor * found.change, color=style.INK, marker="o", markersize=3.5,
              linewidth=1.1, markerfacecolor=style.PAPER,
              label="change of the water there")  # fmt: skip
    axes.axhline(0.0, color=style.INK, linewidth=0.8)
    _month_ticks(axes, found.month)
    title = f"Water by month, {unit_of('mass per area', system=system)}"
    axes.set_title(title, loc="left", fontsize=9.5, color=style.INK)
    figure.legend(loc="lower left", bbox_to_anchor=(0.4 / width, 0.0), ncols=3, fontsize=7.5,
                  frameon=False, labelcolor=style.INK)  # fmt: skip
    return figure


def water_factor(system: System) -> float:
    """How many units of water on an area, as shown, are 1 kg/m²."""
    return convert(1.0, "mass per area", QUANTITIES["mass per area"].shown[system][0])


def _month_ticks(axes: object, month: np.ndarray) -> None:
    """Name months, the year under each first of them; fewer in long records."""
    every = max(1, len(month) // 24)
    if every > 1:
        every = 12 if every > 6 else 3 if every < 4 else 6
    names = [str(m.astype("datetime64[D]").astype(object).strftime("%b")) for m in month]
    years = [str(m)[:4] for m in month]
    labels = [
        f"{name}\n{year}" if k == 0 or year != years[k - every if k >= every else 0] else name
        for k, (name, year) in enumerate(zip(names, years, strict=True))
    ]
    at = list(range(0, len(month), every))
    axes.set_xticks(at, [labels[k] for k in at], fontsize=7.5)  # type: ignore[attr-defined]
    axes.set_xlim(-0.6, len(month) - 0.4)  # type: ignore[attr-defined]
