"""`hygro validate`: the published and exact cases once more."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from hygro.cli.errors import OVER_LIMIT
from hygro.cli.options import JsonOption, ProcessesOption
from hygro.terminal import progress, say, show, write
from hygro.units import count


def validate(
    names: Annotated[
        list[str] | None, typer.Argument(metavar="[NAME]...", help="Only these cases.")
    ] = None,
    out: Annotated[
        Path | None, typer.Option("--out", help="Folder for the page, the data and figures.")
    ] = None,
    as_json: JsonOption = False,
    processes: ProcessesOption = None,
) -> None:
    """Rerun the published and exact cases; exit code 1 where a check fails."""
    from hygro.proof import report
    from hygro.proof.run import chosen, perform, together

    cases = chosen(names or [])
    if out is not None:
        report.ready_folder(out)
    with progress([count(len(cases), "case")]) as tell:
        results = perform(cases, processes=processes, progress=together(tell, len(cases)))
    if as_json:
        write(report.to_json(results) + "\n")
    else:
        show(report.pieces(results), width=200)
    if out is not None:
        line = f"written to {out}: {count(len(report.write(results, out)), 'file')}"
        say(line) if as_json else write(line + "\n")
    if report.failed(results):
        raise typer.Exit(OVER_LIMIT)
