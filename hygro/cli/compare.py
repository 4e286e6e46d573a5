"""`hygro compare`: the walls of a case side by side."""

from __future__ import annotations

from contextlib import nullcontext
from dataclasses import replace
from pathlib import Path
from typing import Annotated

import typer

from hygro.cli.errors import BAD_INPUT, IN_PART
from hygro.cli.options import (
    CaseArgument,
    JsonOption,
    ProcessesOption,
    StrictOption,
    Units,
    UnitsOption,
    print_json,
)
from hygro.cli.running import end_by_verdict, files_of, performed, planned, reserved, size_of
from hygro.terminal import say, show, write


def compare(
    case: CaseArgument,
    wall: Annotated[
        list[str] | None, typer.Option("--wall", help="Only this wall; may be repeated.")
    ] = None,
    out: Annotated[
        Path | None,
        typer.Option("--out", help="Folder for results, every hour of every run; left out: none."),
    ] = None,
    strict: StrictOption = False,
    units: UnitsOption = Units.si,
    as_json: JsonOption = False,
    processes: ProcessesOption = None,
    reserve: Annotated[
        bool | None,
        typer.Option(
            "--reserve/--no-reserve",
            help="Search how much more each wall bears, whole or not at all; else as far as the "
            "ranking needs.",
        ),
    ] = None,
) -> None:
    """Simulate the walls of a case, tight and with their leaks one by one, and rank them.

    By class, and within one by the winter humidity that each wall bears, then by the share of rain.
    With `--reserve` the highest winter humidity, the highest rain share and the least insulation
    outboard at which each wall is still within limits: some ten times the time. `--no-reserve`
    ranks by what is left of the limits and is done soonest.
    """
    from hygro.atomic import check_folder, exclusive, writable_folder
    from hygro.case import load, prepare
    from hygro.errors import InputError
    from hygro.show import report
    from hygro.show.files import refuse_others, told_of
    from hygro.study.compare import failures, paired
    from hygro.study.plain_results import to_dict
    from hygro.units import count

    loaded = load(case)
    if wall:
        loaded = replace(loaded, walls=tuple(loaded.wall(name) for name in dict.fromkeys(wall)))
    if out is not None:
        check_folder(out)
        refuse_others(out, loaded.name, [item.name for item in loaded.walls])
    ready, climate = prepare(loaded)
    if out is not None:
        writable_folder(out)
    written: tuple[Path, ...] = ()
    trouble = None
    with nullcontext() if out is None else exclusive(out / ".hygro.lock", out):
        runs = planned(ready, climate, out)
        results = performed(ready, climate, runs, processes=processes)
        compared, failed = paired(results), failures(results)
        if reserve is not False:
            compared = reserved(ready, climate, compared, whole=bool(reserve))
        if out is not None:
            from hygro.show.files import write_comparison

            order = [item.name for item in ready.walls]
            try:
                written = write_comparison(
                    compared, failed, out, title=ready.name, order=order, system=units.value
                )
            except InputError as error:  # shown after the results, which are not lost by it
                trouble = error
    if as_json:
        print_json(to_dict(compared, failed))
    else:
        shown = (ready.name, ready.note, compared, failed, climate.attrs)
        show(report.comparison(*shown, system=units.value))
        if written:
            files = [path for run in runs for path in files_of(run, climate) if path.is_file()]
            told = f"{count(len(files), 'record')} (.nc), {told_of(written)}"
            write(f"written to {out}: {told}; {size_of([*files, *written])}\n")
    lines = report.failure_lines(failed) + ([str(trouble)] if trouble else [])
    for line in lines:
        say(f"error: {line}")
    if lines:
        raise typer.Exit(BAD_INPUT if trouble or not compared else IN_PART)
    end_by_verdict(compared, strict=strict)
