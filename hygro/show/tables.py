"""Tables of the terminal and their cells: heads, numbers, dashes where there is none."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rich.box import SIMPLE_HEAD
from rich.console import JustifyMethod
from rich.table import Table

from hygro.assess.criteria.moisture import FIBRE_SATURATION


def listed(title: str, *columns: tuple[str, JustifyMethod]) -> Table:
    """Return an empty table with headings and sides."""
    table = Table(
        title=title,
        box=SIMPLE_HEAD,
        title_justify="left",
        title_style="bold",
        pad_edge=False,
        collapse_padding=True,
    )
    for heading, justify in columns:
        table.add_column(heading, justify=justify, overflow="fold")
    return table


def plain(title: str, headings: Sequence[str], rows: Iterable[Sequence[str]]) -> Table:
    """Return a table of text; the first column stands left, the others right."""
    table = listed(title, *((h, "left" if i == 0 else "right") for i, h in enumerate(headings)))
    for row in rows:
        table.add_row(*row)
    return table


def percent(value: object) -> str:
    """Write a fraction as per cent; a dash where there is none."""
    return f"{100 * value:.1f}" if isinstance(value, int | float) else "–"


def moisture(value: object) -> str:
    """Write a moisture content by mass as per cent; beyond fibre saturation only that it is."""
    if isinstance(value, int | float) and value > FIBRE_SATURATION:
        return f"> {100 * FIBRE_SATURATION:.0f}"
    return percent(value)


def number(value: object, digits: int = 1) -> str:
    """Write a number; a dash where there is none."""
    return f"{value:.{digits}f}" if isinstance(value, int | float) else "–"
