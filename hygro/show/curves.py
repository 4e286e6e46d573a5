"""Curves of materials side by side: sorption, vapour, sheets, conductivity, liquid."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np
from matplotlib.figure import Figure
from matplotlib.ticker import LogLocator, NullFormatter

from hygro.material.model import AnyMaterial, Material, SheetMaterial
from hygro.quantities import QUANTITIES
from hygro.show import style
from hygro.show.axes import end_labels
from hygro.units import System, unit_of

RH = np.concatenate((np.linspace(0.02, 0.9, 45), np.linspace(0.91, 0.995, 18)))
"""Humidities at which curves are drawn. [1]"""
NARROW = 300.0
"""Ratio of the ends of an axis below which 2 and 5 are told between the powers of ten. [1]"""
MOST = 14
"""Most lines of a figure; further materials are left to the tables."""


class Kind(NamedTuple):
    """A curve over relative humidity.

    Attributes
    ----------
    title : str
        What it is of.
    quantity : str
        A name in `hygro.quantities.QUANTITIES`.
    values : callable
        In SI, None where a material has no such curve.
    """

    title: str
    quantity: str
    values: Callable[[AnyMaterial], np.ndarray | None]

    def heading(self, system: System = "si") -> str:
        """Title with the unit."""
        return f"{self.title}, {unit_of(self.quantity, system=system)}"

    def shown(self, values: np.ndarray, system: System) -> np.ndarray:
        """Values in the unit of the heading."""
        unit = QUANTITIES[self.quantity].shown[system][0]
        return values / QUANTITIES[self.quantity].factors[unit]


def _storage(m: AnyMaterial) -> np.ndarray | None:
    return np.asarray(m.water_content(RH)) if isinstance(m, Material) else None


def _vapour(m: AnyMaterial) -> np.ndarray | None:
    return np.asarray(m.vapour.permeability(RH)) if isinstance(m, Material) else None


def _sheet(m: AnyMaterial) -> np.ndarray | None:
    if not isinstance(m, SheetMaterial):
        return None
    return np.asarray(m.permeance.permeance(RH))


def _thermal(m: AnyMaterial) -> np.ndarray | None:
    if not isinstance(m, Material):
        return None
    return np.asarray(m.thermal.conductivity(m.water_content(RH)))


KINDS = {
    "storage": Kind("Water content", "density", _storage),
    "vapour": Kind("Vapour permeability", "permeability", _vapour),
    "sheets": Kind("Permeance of sheets", "permeance", _sheet),
    "thermal": Kind("Thermal conductivity", "conductivity", _thermal),
}
"""Kinds of curves by name."""


def _decimal(value: float, _: object = None) -> str:
    return f"{value:g}"


def curves(
    materials: Sequence[AnyMaterial], kind: str, *, width: float = 7.0, system: System = "si"
) -> Figure | None:
    """Draw one kind of curve of some materials over relative humidity; None where none has one.

    Parameters
    ----------
    materials : sequence of Material or SheetMaterial
        What to draw; the first `MOST` that have the curve.
    kind : str
        A key of `KINDS`.
    width : float
        Of the figure. [in]
    system : {"si", "ip"}
        Units.
    """
    row = KINDS[kind]
    found = [(m.key, v) for m in materials if (v := row.values(m)) is not None][:MOST]
    if not found:
        return None
    figure = style.Sheet(width, 3.4)
    axes = figure.add_axes((0.6 / width, 0.14, 1.0 - 2.55 / width, 0.75))
    style.quiet(axes)
    ends = []
    for number, (key, values) in enumerate(found):
        shown = np.maximum(row.shown(values, system), 1e-6)
        pen = style.pen(number)
        axes.plot(100 * RH, shown, color=pen.color, linewidth=pen.width, marker=pen.mark,
                  markersize=4, markevery=(3 + number % 7, 12), markerfacecolor=style.PAPER,
                  linestyle="-" if pen.dash is None else (0, pen.dash))  # fmt: skip
        ends.append((key if len(key) <= 22 else key[:21] + "…", float(shown[-1]), number))
    axes.set_yscale("log")
    axes.yaxis.set_major_formatter(_decimal)
    axes.yaxis.set_minor_formatter(NullFormatter())
    low, high = axes.get_ylim()
    if high / low < NARROW:
        axes.yaxis.set_major_locator(LogLocator(subs=(1.0, 2.0, 5.0)))
    axes.set_xlim(0, 100)
    axes.set_title(row.heading(system), loc="left", fontsize=9.5, color=style.INK)
    axes.set_xlabel("relative humidity, %", fontsize=8, color=style.INK)
    end_labels(axes, ends, gap=0.075)
    return figure
