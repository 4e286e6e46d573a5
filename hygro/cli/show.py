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
    units: UnitsOption = Units.si,
    as_json: JsonOption = False,
) -> None:
    """Judge a saved result again by the criteria of its own case, without running it."""
    from hygro.assess import verdict
    from hygro.case import stored_judging
    from hygro.record import load
    from hygro.record.provenance import stored_wall
    from hygro.show import report

    ds = load(file)
    rule, source = stored_judging(ds.attrs)
    chosen = sheathing or stored_wall(ds).sheathing
    found = verdict(
        ds,
        sheathing=chosen,
        criteria=rule.criteria,
        skip_days=rule.skip_days,
        mould_model=rule.mould_model,  # type: ignore[arg-type]
    )
    if as_json:
        print_json({**report.record_facts(ds.attrs, source), "verdict": found.to_dict()})
    else:
        print_pieces(report.record(found, ds.attrs, source, system=units.value))
    if strict and found.passed is not True:
        raise typer.Exit(OVER_LIMIT)
