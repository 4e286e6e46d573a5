"""What the script of a page draws from: series and maps of one wall, packed."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from hygro.assess.field import DepthTime
from hygro.page.pack import pack
from hygro.show.course import days_of_a_point, stepwise_days
from hygro.show.figures import PANELS
from hygro.show.scales import SCALES
from hygro.study.trace import Trace
from hygro.units import System

POINTS = 1500
"""Most points of a series; longer ones are means of some days."""
SERIES_STEP = 0.01
"""Steps to which per cent and mould index are rounded."""
FAHRENHEIT, POUND_FT3 = (1.8, -459.67), (0.06242796, 0.0)
CELSIUS, PERCENT, SAME = (1.0, -273.15), (100.0, 0.0), (1.0, 0.0)
UNITS: dict[System, dict[str, tuple[str, tuple[float, float], float]]] = {
    "si": {
        "relative_humidity": ("%", PERCENT, 0.1),
        "temperature": ("°C", CELSIUS, 0.1),
        "water_content": ("kg/m³", SAME, 0.1),
    },
    "ip": {
        "relative_humidity": ("%", PERCENT, 0.1),
        "temperature": ("°F", FAHRENHEIT, 0.1),
        "water_content": ("lb/ft³", POUND_FT3, 0.01),
    },
}
"""Unit of a field, factor and offset from SI, and the step it is rounded to."""


def series(runs: Sequence[tuple[str, Trace]]) -> dict[str, Any]:
    """Return the panels of a wall: one line for each of its runs."""
    days = max(len(found.day) for _, found in runs)
    every = max(days_of_a_point(found, POINTS) for _, found in runs)
    panels = []
    for panel in PANELS:
        lines = [panel.values(found) for _, found in runs]
        present = [values for values in lines if values is not None]
        if not present:
            continue
        table = np.full((days // every, len(lines)), np.nan)
        for k, values in enumerate(lines):
            if values is not None:
                table[: len(values) // every, k] = stepwise_days(values, every)
        panels.append(
            {
                "title": panel.title,
                "limit": panel.limit,
                "limitWords": panel.limit_words,
                "floor": panel.floor,
                "top": max(panel.least_top, 1.05 * float(np.nanmax(table))),
                "values": pack(table, SERIES_STEP),
            }
        )
    return {
        "start": str(runs[0][1].day[0]),
        "days": every,
        "labels": [label for label, _ in runs],
        "panels": panels,
    }


def field_map(found: DepthTime, *, system: System = "si") -> dict[str, Any]:
    """Return the fields of a wall over depth and time."""
    fields = {}
    for name, scale in SCALES.items():
        unit, (factor, offset), step = UNITS[system][name]
        values = factor * found.fields[name] + offset
        step = max(step, float(np.nanmax(np.abs(values))) / 32000.0)
        fields[name] = {
            "title": scale.title.split(",")[0],
            "unit": unit,
            "breaks": [round(_broken(b, name, system), 3) for b in scale.breaks],
            "colours": scale.colours,
            "low": float(np.nanmin(values)),
            "high": float(np.nanmax(values)),
            "values": pack(values, step),
        }
    edges = [found.bands[0].outer, *(band.inner for band in found.bands)]
    length = 1.0 / 25.4e-3 if system == "ip" else 1000.0
    return {
        "start": str(found.start.astype("datetime64[m]")),
        "hours": found.step,
        "edges": [round(length * edge, 3) for edge in edges],
        "length": "in" if system == "ip" else "mm",
        "names": [band.name for band in found.bands],
        "fields": fields,
    }


def _broken(value: float, name: str, system: System) -> float:
    """A break of a scale, written there in SI units as shown, in the units of the page."""
    if system == "si" or name == "relative_humidity":
        return value
    return 1.8 * value + 32.0 if name == "temperature" else POUND_FT3[0] * value
