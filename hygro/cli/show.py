"""`hygro show`: a saved result judged again."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from hygro.cli.errors import OVER_LIMIT
from hygro.cli.options import JsonOption, StrictOption, Units, UnitsOption, print_json
from hygro.terminal import show as print_pieces


def show(
    file: Annotated[Path, typer.Argument(help="Result file (.nc) of an earlier run.")],
    sheathing: Annotated[
        str | None, typer.Option("--sheathing", help="Layer to judge as sheathing.")
    ] = None,
    strict: StrictOption = False,
    rules: Annotated[
        str | None, typer.Option("--rules", help="default, ashrae-160, en-15026 or iso-13788.")
    ] = None,
    units: UnitsOption = Units.si,
    as_json: JsonOption = False,
) -> None:
    """Judge a saved result again by the criteria of its own case, without running it."""
    from hygro.case import judge_stored
    from hygro.record import load
    from hygro.show import report

    ds = load(file)
    found = judge_stored(ds, sheathing=sheathing, rules=rules)
    if as_json:
        print_json({**report.record_facts(ds.attrs, rules=rules), "verdict": found.to_dict()})
    else:
        print_pieces(report.stored(ds.attrs, found, system=units.value, file=file, rules=rules))
    if strict and found.passed is not True:
        raise typer.Exit(OVER_LIMIT)
