"""What the script of a page draws from: series and maps of one wall, packed."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from hygro.assess.field import DepthTime
from hygro.page.pack import pack
from hygro.show.course import days_of_a_point, stepwise_days
from hygro.show.depth import depth_unit
from hygro.show.panels import MOULD, PANELS
from hygro.show.scales import SCALES
from hygro.show.service import in_a_line
from hygro.study.trace import Trace
from hygro.types import Data
from hygro.units import System

POINTS = 1500
"""Most points of a series; longer ones are means of some days."""
SERIES_STEP = 0.01
"""Steps to which per cent and mould index are rounded."""


def series(runs: Sequence[tuple[str, Trace]]) -> Data:
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
                "quantity": panel.quantity,
                "title": panel.title_of(runs)
                + (in_a_line(runs[0][1].windows) if panel is MOULD else ""),
                "labels": panel.labels(runs),
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
        "panels": panels,
    }


def field_map(found: DepthTime, *, system: System = "si") -> Data:
    """Return the fields of a wall over depth and time."""
    fields = {}
    for name, scale in SCALES.items():
        unit = scale.unit(system)
        values = scale.values(found.fields[name], system)
        step = max(unit.step, float(np.nanmax(np.abs(values))) / 32000.0)
        fields[name] = {
            "title": scale.quantity,
            "unit": unit.word,
            "breaks": [round(float(edge), 3) for edge in scale.edges(system)],
            "colours": scale.colours,
            "low": float(np.nanmin(values)),
            "high": float(np.nanmax(values)),
            "values": pack(values, step),
        }
    edges = [found.bands[0].outer, *(band.inner for band in found.bands)]
    word, length = depth_unit(system)
    return {
        "start": str(found.start.astype("datetime64[m]")),
        "hours": found.step,
        "edges": [round(length * edge, 3) for edge in edges],
        "length": word,
        "names": [band.name for band in found.bands],
        "fields": fields,
    }
