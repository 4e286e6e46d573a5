"""A small HTML table, for notebooks. Owns its look; everything in it is escaped."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape

_CELL = "text-align:left;padding:2px 10px 2px 0"


def table(title: str, head: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """Return a table with a caption, a head and rows of text."""
    caption = f"<caption style='text-align:left'><b>{escape(title)}</b></caption>"
    lines = [_row("th", head), *(_row("td", row) for row in rows)]
    return f"<table style='border-collapse:collapse'>{caption}{''.join(lines)}</table>"


def _row(tag: str, cells: Iterable[object]) -> str:
    shown = "".join(f"<{tag} style='{_CELL}'>{escape(str(cell))}</{tag}>" for cell in cells)
    return f"<tr>{shown}</tr>"
