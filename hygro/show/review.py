"""What `hygro check` shows: remarks, sheets side by side, hand numbers. Owns their layout."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from hygro.show.converted import converted
from hygro.show.tables import plain
from hygro.study.hand import HandNumbers
from hygro.study.remarks import SHEET_RH, Remark, Sheet
from hygro.units import System, show, unit_of

HEADINGS = {"wrong": "Wrong", "unusual": "Unusual", "note": "To know"}


def pieces(
    remarks: Sequence[Remark],
    hands: Mapping[str, HandNumbers],
    sheets: Sequence[Sheet],
    *,
    system: System,
) -> Iterator[RenderableType]:
    """Give the remarks by gravity, then the tables."""
    for level, heading in HEADINGS.items():
        mine = [remark for remark in remarks if remark.level == level]
        if mine:
            yield Text(heading, style="bold")
            yield _listed(mine, len(hands), system)
    if not any(remark.level != "note" for remark in remarks):
        yield Text("Nothing wrong or unusual was found; that is no verdict.")
    yield Text()
    yield _hands(hands, system)
    if sheets:
        yield _sheets(sheets, system)


def _listed(remarks: Sequence[Remark], walls: int, system: System) -> Table:
    """Points; what is said of several walls is said once."""
    by_text: dict[str, list[str]] = {}
    for remark in remarks:
        by_text.setdefault(remark.text, []).append(remark.place)
    grid = Table.grid()
    for text, places in by_text.items():
        named = [place for place in places if place]
        if len(named) == walls and walls > 1:
            head = "every wall: "
        else:
            head = f"{', '.join(repr(name) for name in named)}: " if named else ""
        grid.add_row("· ", Text(f"{head}{converted(text, system)}"))
    return grid


def _hands(hands: Mapping[str, HandNumbers], system: System) -> Table:
    U, T = (unit_of(kind, system=system) for kind in ("thermal transmittance", "temperature"))
    headings = (
        "Wall", f"U\n{U}", f"U clear\n{U}", "R outb.\n%", "least\n%", f"Face\n{T}", "RH\nroom %",
        "RH\nface %",
    )  # fmt: skip
    rows = [
        (
            name,
            show(hand.U_effective, "thermal transmittance", system=system, unit=False),
            show(hand.U, "thermal transmittance", system=system, unit=False),
            f"{100 * hand.outboard_share:.0f}",
            f"{100 * hand.least_share:.0f}",
            show(hand.face_temperature, "temperature", system=system, unit=False),
            f"{100 * hand.winter_rh:.0f}",
            f"{100 * hand.highest_rh:.0f}",
        )
        for name, hand in hands.items()
    ]
    title = (
        "By hand, three coldest months: inner face of the sheathing, RH of the room, RH from which "
        "its air condenses there; U and the share of R outboard with materials at 10 °C"
    )
    return plain(converted(title, system), headings, rows)


def _sheets(sheets: Sequence[Sheet], system: System) -> Table:
    unit = unit_of("permeance", system=system)
    heads = [f"{100 * rh:.0f} % RH" for rh in SHEET_RH]
    rows: dict[tuple[str, ...], list[str]] = {}
    for sheet in sheets:
        values = [show(p, "permeance", system=system, unit=False) for p in sheet.permeance]
        key = (f"{sheet.name} ({sheet.side})", *values, sheet.retarder)
        rows.setdefault(key, []).append(sheet.wall)
    body = [(*key, f"{len(walls)}") for key, walls in rows.items()]
    return plain(f"Sheets, permeance in {unit}", ("Sheet", *heads, "Class", "Walls"), body)
