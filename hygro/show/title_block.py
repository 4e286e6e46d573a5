"""What stands above a figure of a record: wall, place, room, facing, years, leaks, verdict."""

from __future__ import annotations

import textwrap
from typing import NamedTuple

import xarray as xr
from matplotlib.figure import Figure

from hygro.assess.verdict import Verdict, reserve_words
from hygro.record.provenance import stored_wall
from hygro.show import style, words

HEIGHT = 0.78
"""Room that the block takes above the axes. [in]"""
LETTERS = 14.5
"""Letters of the small lines to an inch."""


class TitleBlock(NamedTuple):
    """The lines of the block."""

    wall: str
    circumstances: str
    judged: str


def title_block(ds: xr.Dataset, verdict: Verdict | None = None) -> TitleBlock:
    """Return the block of a record; `verdict` where it was judged."""
    wall = stored_wall(ds)
    attrs = ds.attrs
    place = str(attrs.get("climate_place") or attrs.get("climate_source", ""))
    hours = ds.sizes["time"] - 1
    span = f"{words.in_years(hours / 8760.0)} from {str(ds['time'].values[0])[:10]}"
    scenario = words.SCENARIOS.get(str(attrs.get("scenario", "")), "")
    leaks = scenario or ("with its leaks" if wall.leaky else "no leaks")
    parts = [
        place,
        f"room: {attrs['room_name']}" if attrs.get("room_name") else "",
        f"facing {words.facing(wall.azimuth)}",
        span,
        leaks,
    ]
    judged = "" if verdict is None else f"{verdict.outcome}, reserve {reserve_words(verdict)}"
    return TitleBlock(wall.name, "; ".join(p for p in parts if p), judged)


def put_title(figure: Figure, block: TitleBlock | None, title: str = "") -> float:
    """Write the block at the top left; return where the axes may end, as a share of the height."""
    height = figure.get_figheight()
    if block is None:
        return 1.0 - 0.1 / height
    letters = int(figure.get_figwidth() * LETTERS)
    judged = "; ".join(text for text in (title, block.judged) if text)
    lines = (
        (0.08, 12, style.INK, "bold", _short(block.wall, letters // 2)),
        (0.32, 8.5, style.LIMIT, "normal", _short(block.circumstances, letters)),
        (0.49, 8.5, style.LIMIT, "normal", _short(judged, letters)),
    )  # fmt: skip
    for down, size, colour, weight, text in lines:
        figure.text(0.02, 1.0 - down / height, text, fontsize=size, color=colour, weight=weight,
                    va="top")  # fmt: skip
    return 1.0 - HEIGHT / height


def _short(text: str, letters: int) -> str:
    return textwrap.shorten(text, letters, placeholder=" …")
