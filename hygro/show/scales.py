"""Stepped colour scales of depth–time maps: where a threshold is passed, the hue changes.

Lightness runs one way, so that a grey print keeps the order; each step is read off the legend.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from matplotlib.colors import BoundaryNorm, Colormap, ListedColormap
from numpy.typing import ArrayLike, NDArray

from hygro.constants import ZERO_CELSIUS
from hygro.quantities import FOOT, POUND, RANKINE
from hygro.units import System

Array = NDArray[np.float64]


class Unit(NamedTuple):
    """How a quantity is shown: the word, factor and offset from SI, and the finest step told."""

    word: str
    factor: float
    offset: float
    step: float


_PERCENT = Unit("%", 100.0, 0.0, 0.1)


@dataclass(frozen=True)
class Scale:
    """Steps of one quantity.

    Attributes
    ----------
    quantity : str
        In words.
    breaks : tuple of float
        Edges between steps, in the SI unit as shown; values beyond take the outer steps.
    colours : tuple of str
        One more than there are breaks.
    si, ip : Unit
        How the quantity is shown.
    """

    quantity: str
    breaks: tuple[float, ...]
    colours: tuple[str, ...]
    si: Unit
    ip: Unit

    def unit(self, system: System) -> Unit:
        """Unit of a family."""
        return self.ip if system == "ip" else self.si

    def heading(self, system: System = "si") -> str:
        """Quantity with its unit."""
        return f"{self.quantity}, {self.unit(system).word}"

    def values(self, found: ArrayLike, system: System = "si") -> Array:
        """Turn SI values into the unit shown."""
        unit = self.unit(system)
        return np.asarray(found) * unit.factor + unit.offset

    def edges(self, system: System = "si") -> Array:
        """The breaks in the unit shown."""
        return self.values((np.array(self.breaks) - self.si.offset) / self.si.factor, system)

    def painter(self, system: System = "si") -> tuple[Colormap, BoundaryNorm]:
        """The scale as matplotlib takes it."""
        colours = ListedColormap(list(self.colours[1:-1]))
        ends = colours.with_extremes(under=self.colours[0], over=self.colours[-1])
        return ends, BoundaryNorm(list(self.edges(system)), colours.N)


SCALES = {
    "relative_humidity": Scale(
        "Relative humidity",
        (50.0, 60.0, 70.0, 80.0, 90.0, 95.0, 99.0),
        ("#f7f3ea", "#ede3cd", "#e0d0ae", "#d0ba8c", "#8fb3b3", "#5c9095", "#2f6a72", "#0d3a42"),
        _PERCENT,
        _PERCENT,
    ),
    "temperature": Scale(
        "Temperature",
        (-20.0, -15.0, -10.0, -5.0, 0.0, 5.0, 10.0, 15.0, 20.0, 25.0),
        (
            "#10222e", "#1d3648", "#2e4d62", "#46677d", "#64859a",
            "#b58a55", "#c79f69", "#d8b681", "#e6cd9f", "#f0e1c2", "#f8f1e1",
        ),
        Unit("°C", 1.0, -ZERO_CELSIUS, 0.1),
        Unit("°F", 1.0 / RANKINE, 32.0 - ZERO_CELSIUS / RANKINE, 0.1),
    ),
    "water_content": Scale(
        "Water",
        (1.0, 3.0, 10.0, 30.0, 60.0, 100.0, 200.0),
        ("#f7f4ee", "#e9e1d3", "#d8cab3", "#c3ae8f", "#a68d6c", "#836a4c", "#5d4831", "#37291a"),
        Unit("kg/m³", 1.0, 0.0, 0.1),
        Unit("lb/ft³", FOOT**3 / POUND, 0.0, 0.01),
    ),
}  # fmt: skip
"""Breaks at 80 % RH (usual threshold of mould) and 0 °C part the hues; sorbed water has none."""
