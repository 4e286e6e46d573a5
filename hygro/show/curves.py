"""Curves of materials side by side: sorption, vapour, sheets, conductivity, liquid."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np
from matplotlib.figure import Figure
from matplotlib.ticker import NullFormatter

from hygro.constants import PERM
from hygro.material.model import AnyMaterial, Material, SheetMaterial
from hygro.show import style
from hygro.show.figures import end_labels

RH = np.concatenate((np.linspace(0.02, 0.9, 45), np.linspace(0.91, 0.995, 18)))
"""Humidities at which curves are drawn. [1]"""
MOST = 14
"""Most lines of a figure; further materials are left to the tables."""


class Kind(NamedTuple):
    """A curve over relative humidity: its title, and its values where a material has one."""

    title: str
    values: Callable[[AnyMaterial], np.ndarray | None]
    log: bool = False


def _storage(m: AnyMaterial) -> np.ndarray | None:
    return np.asarray(m.water_content(RH)) if isinstance(m, Material) else None


def _vapour(m: AnyMaterial) -> np.ndarray | None:
    return 1e12 * np.asarray(m.vapour.permeability(RH)) if isinstance(m, Material) else None


def _sheet(m: AnyMaterial) -> np.ndarray | None:
    if not isinstance(m, SheetMaterial):
        return None
    return np.asarray(m.permeance.permeance(RH)) / PERM


def _thermal(m: AnyMaterial) -> np.ndarray | None:
    if not isinstance(m, Material):
        return None
    return np.asarray(m.thermal.conductivity(m.water_content(RH)))


KINDS = {
    "storage": Kind("Water content, kg/m³", _storage, log=True),
    "vapour": Kind("Vapour permeability, ng/(m·s·Pa)", _vapour, log=True),
    "sheets": Kind("Permeance of sheets, perm (57.2 ng/(m²·s·Pa))", _sheet, log=True),
    "thermal": Kind("Thermal conductivity, W/(m·K)", _thermal, log=True),
}
"""Kinds of curves by name."""


def _decimal(value: float, _: object = None) -> str:
    return f"{value:g}"


def curves(materials: Sequence[AnyMaterial], kind: str, *, width: float = 7.0) -> Figure | None:
    """Draw one kind of curve of some materials over relative humidity; None where none has one.

    Parameters
    ----------
    materials : sequence of Material or SheetMaterial
        What to draw; the first `MOST` that have the curve.
    kind : str
        A key of `KINDS`.
    width : float
        Of the figure. [in]
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
        shown = np.maximum(values, 1e-6)
        pen = style.pen(number)
        axes.plot(100 * RH, shown, color=pen.color, linewidth=pen.width, marker=pen.mark,
                  markersize=4, markevery=(3 + number % 7, 12), markerfacecolor=style.PAPER,
                  linestyle="-" if pen.dash is None else (0, pen.dash))  # fmt: skip
        ends.append((key if len(key) <= 22 else key[:21] + "…", float(shown[-1]), number))
    if row.log:
        axes.set_yscale("log")
        axes.yaxis.set_major_formatter(_decimal)
        axes.yaxis.set_minor_formatter(NullFormatter())
    axes.set_xlim(0, 100)
    axes.set_title(row.title, loc="left", fontsize=9.5, color=style.INK)
    axes.set_xlabel("relative humidity, %", fontsize=8, color=style.INK)
    end_labels(axes, ends, gap=0.075)
    return figure
