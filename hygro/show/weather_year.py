"""Weather in a figure: temperatures and humidity by month, rain by month and by orientation."""

from __future__ import annotations

import numpy as np
import xarray as xr
from matplotlib.axes import Axes
from matplotlib.figure import Figure

import weather
from hygro.constants import ZERO_CELSIUS
from hygro.quantities import INCH
from hygro.show import style
from hygro.show.envelope import MONTHS
from hygro.show.scales import SCALES
from hygro.show.title_block import TitleBlock, put_title
from hygro.units import System, show
from weather.summary import Summary

HOUR = np.timedelta64(1, "h")


def weather_year(found: xr.Dataset, *, system: System = "si") -> Figure:
    """Draw whole years of weather.

    Parameters
    ----------
    found : Dataset
        Canonical weather of at least a year.
    system : {"si", "ip"}
        Units.

    Raises
    ------
    WeatherError
        Shorter than a year, or with gaps in temperature.
    """
    summary = weather.summarise(found)
    month = (found["time"].values - HOUR).astype("datetime64[M]").astype(int) % 12
    figure = style.Sheet(8.4, 5.9)
    top = put_title(figure, _block(found, summary, system))
    grid = figure.add_gridspec(2, 2, left=0.06, right=0.98, top=top - 0.055, bottom=0.07,
                               hspace=0.38, wspace=0.16)  # fmt: skip
    _temperature(figure.add_subplot(grid[0, 0]), found, month, system)
    _humidity(figure.add_subplot(grid[0, 1]), found, month)
    _rain(figure.add_subplot(grid[1, 0]), found, month, summary, system)
    _driving(figure.add_subplot(grid[1, 1]), summary, system)
    return figure


def _block(found: xr.Dataset, summary: Summary, system: System) -> TitleBlock:
    place = str(found.attrs.get("place") or found.attrs.get("source", "weather"))
    kind = str(found.attrs.get("kind", ""))
    first, last = (str(found["time"].values[k])[:10] for k in (0, -1))
    zone = f"zone {summary.thermal_zone}{summary.moisture_regime or ''}"
    factor, unit = (1.8, "°F·d") if system == "ip" else (1.0, "K·d")
    base = show(18.3 + ZERO_CELSIUS, "temperature", system=system)
    days = f"heating degree days {factor * summary.heating_degree_days_18_3:.0f} {unit} ({base})"
    caution = str(found.attrs.get("caution", ""))
    return TitleBlock(place, f"{kind}; {first} to {last}; {zone}; {days}".lstrip("; "), caution)


def _titled(axes: Axes, title: str, ticks: tuple[str, ...]) -> None:
    style.quiet(axes)
    axes.set_title(title, loc="left", fontsize=9.5, color=style.INK)
    axes.set_xticks(range(len(ticks)), ticks)


def _by_month(values: np.ndarray, month: np.ndarray, reduce: object) -> np.ndarray:
    return np.array([reduce(values[month == m]) for m in range(12)])  # type: ignore[operator]


def _temperature(axes: Axes, found: xr.Dataset, month: np.ndarray, system: System) -> None:
    scale = SCALES["temperature"]
    T = scale.values(found["temperature"].values, system)
    low, high = (_by_month(T, month, lambda x, q=q: np.percentile(x, q)) for q in (1, 99))
    axes.fill_between(range(12), low, high, color=style.SHADE, linewidth=0)
    axes.plot(range(12), _by_month(T, month, np.mean), color=style.INK, marker="o", markersize=3.5,
              markerfacecolor=style.PAPER)  # fmt: skip
    axes.axhline(
        float(scale.values(ZERO_CELSIUS, system)),
        color=style.LIMIT,
        linewidth=1.0,
        linestyle=(0, (1, 2)),
    )
    _titled(axes, f"{scale.heading(system)}: mean; 98 % of the hours", tuple(m[0] for m in MONTHS))


def _humidity(axes: Axes, found: xr.Dataset, month: np.ndarray) -> None:
    rh = 100.0 * found["relative_humidity"].values
    low, high = (_by_month(rh, month, lambda x, q=q: np.nanpercentile(x, q)) for q in (10, 90))
    axes.fill_between(range(12), low, high, color=style.SHADE, linewidth=0)
    axes.plot(range(12), _by_month(rh, month, np.nanmean), color=style.INK, marker="o",
              markersize=3.5, markerfacecolor=style.PAPER)  # fmt: skip
    axes.set_ylim(0, 100)
    _titled(axes, "Relative humidity, %: mean; 80 % of the hours", tuple(m[0] for m in MONTHS))


def _rain(
    axes: Axes, found: xr.Dataset, month: np.ndarray, summary: Summary, system: System
) -> None:
    unit, factor = _sums(system)
    _titled(axes, f"Rain by month, {unit}", tuple(m[0] for m in MONTHS))
    if summary.rain is None:
        _not_credible(axes)
        return
    rain = factor * np.nan_to_num(found["rain"].values)
    axes.bar(
        range(12), _by_month(rain, month, np.sum) / summary.years, 0.7, color=style.PENS[1].color
    )


def _sums(system: System) -> tuple[str, float]:
    """Unit of sums of rain, and how many of it are a millimetre."""
    return ("in", 0.001 / INCH) if system == "ip" else ("mm", 1.0)


def _driving(axes: Axes, summary: Summary, system: System) -> None:
    unit, factor = _sums(system)
    title = f"Driving rain, free air, {unit} a year, by the side faced"
    if summary.driving_rain is None:
        _titled(axes, title, ())
        _not_credible(axes)
        return
    heights = [factor * rain for rain in summary.driving_rain.values()]
    axes.bar(range(8), heights, 0.7, color=style.PENS[2].color,
             hatch="//", edgecolor=style.PAPER, linewidth=0.3)  # fmt: skip
    _titled(axes, title, tuple(summary.driving_rain))


def _not_credible(axes: Axes) -> None:
    axes.text(0.5, 0.5, "no credible rain in this weather", transform=axes.transAxes, ha="center",
              fontsize=9, color=style.LIMIT)  # fmt: skip
