"""What walls and records show of themselves in a notebook."""

from __future__ import annotations

import hashlib

import xarray as xr

from hygro import html
from hygro.assess.judge import verdict
from hygro.record.provenance import stored_wall
from hygro.show.section import wall_section
from hygro.show.svg import svg
from hygro.show.title_block import title_block
from hygro.units import show, unit_of
from hygro.wall.hand_wall import layer_rows
from hygro.wall.wall import Wall


def wall_html(wall: Wall) -> str:
    """Return the wall to scale above a table of its elements."""
    rows = [
        (
            row.name,
            row.made_of,
            show(row.thickness, "length", unit=False) if row.thickness else "–",
            show(row.R, "thermal resistance", unit=False),
            show(row.permeance, "permeance", unit=False),
        )
        for row in layer_rows(wall)
    ]
    head = (
        "element", "made of", f"thickness, {unit_of('length')}",
        f"R, {unit_of('thermal resistance')}", f"permeance, {unit_of('permeance')}",
    )  # fmt: skip
    return drawing(wall) + html.table("Elements, outside to inside", head, rows)


def drawing(wall: Wall) -> str:
    """Return the wall to scale as SVG."""
    text = f"Section of '{wall.name}': " + ", ".join(element.name for element in wall.layers)
    key = hashlib.sha256(repr(wall).encode()).hexdigest()[:8]
    return svg(wall_section(wall), f"wall-{key}", text, named=False)


def record_html(ds: xr.Dataset) -> str:
    """Return the circumstances, the wall to scale and the verdict of a record."""
    wall = stored_wall(ds)
    found = verdict(ds, sheathing=wall.sheathing)
    block = title_block(ds, found)
    head = html.table(block.wall, ("", ""), [("run", block.circumstances), ("", block.judged)])
    return head + drawing(wall) + found._repr_html_()
