"""Stepped colour scales of depth–time maps: where a threshold is passed, the hue changes.

Lightness runs one way, so that a grey print keeps the order; each step is read off the legend.
"""

from __future__ import annotations

from dataclasses import dataclass

from matplotlib.colors import BoundaryNorm, Colormap, ListedColormap


@dataclass(frozen=True)
class Scale:
    """Steps of one quantity.

    Attributes
    ----------
    title : str
        Quantity with its unit, as shown.
    breaks : tuple of float
        Edges between steps, in the shown unit; values beyond the ends take the outer steps.
    colours : tuple of str
        One more than there are breaks.
    """

    title: str
    breaks: tuple[float, ...]
    colours: tuple[str, ...]

    def painter(self) -> tuple[Colormap, BoundaryNorm]:
        """The scale as matplotlib takes it."""
        colours = ListedColormap(list(self.colours[1:-1]))
        ends = colours.with_extremes(under=self.colours[0], over=self.colours[-1])
        return ends, BoundaryNorm(list(self.breaks), colours.N)


SCALES = {
    "relative_humidity": Scale(
        "Relative humidity, %",
        (50.0, 60.0, 70.0, 80.0, 90.0, 95.0, 99.0),
        ("#f7f3ea", "#ede3cd", "#e0d0ae", "#d0ba8c", "#8fb3b3", "#5c9095", "#2f6a72", "#0d3a42"),
    ),
    "temperature": Scale(
        "Temperature, °C",
        (-20.0, -15.0, -10.0, -5.0, 0.0, 5.0, 10.0, 15.0, 20.0, 25.0),
        (
            "#10222e", "#1d3648", "#2e4d62", "#46677d", "#64859a",
            "#b58a55", "#c79f69", "#d8b681", "#e6cd9f", "#f0e1c2", "#f8f1e1",
        ),
    ),
    "water_content": Scale(
        "Water, kg/m³",
        (1.0, 3.0, 10.0, 30.0, 60.0, 100.0, 200.0),
        ("#f7f4ee", "#e9e1d3", "#d8cab3", "#c3ae8f", "#a68d6c", "#836a4c", "#5d4831", "#37291a"),
    ),
}  # fmt: skip
"""Breaks at 80 % RH (usual threshold of mould) and 0 °C part the hues; sorbed water has none."""


def shown(name: str, values: object) -> object:
    """Turn SI values of a quantity into the unit of its scale."""
    if name == "temperature":
        return values - 273.15  # type: ignore[operator]
    return 100.0 * values if name == "relative_humidity" else values  # type: ignore[operator]
