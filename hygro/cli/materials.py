"""`hygro materials`: the shipped materials."""

from __future__ import annotations

from typing import Annotated

import typer

from hygro.cli.options import JsonOption, Units, UnitsOption, print_json
from hygro.terminal import show


def materials(
    key: Annotated[str | None, typer.Argument(help="Material to show in full.")] = None,
    group: Annotated[str | None, typer.Option("--group", help="List only this group.")] = None,
    units: UnitsOption = Units.si,
    as_json: JsonOption = False,
) -> None:
    """List the materials, or show one with units and sources."""
    from rich.text import Text

    from hygro.material import describe
    from hygro.show.materials import listings, sheet, source_lines

    if key is not None:
        details = describe.details(key, units.value)
        if as_json:
            print_json([d._asdict() for d in details])
        else:
            show([sheet(key, details), *map(Text, source_lines(details))])
        return
    rows = [r for r in describe.rows(units.value) if group in (None, r["group"])]
    if not rows:
        _no_such_group(str(group), [str(r["group"]) for r in describe.rows()])
    if as_json:
        print_json(rows)
    else:
        show(listings(rows, describe.columns(units.value)))


def _no_such_group(group: str, groups: list[str]) -> None:
    from hygro.errors import InputError, near_matches

    raise InputError(f"--group {group}: no such group; {near_matches(group, sorted(set(groups)))}")
