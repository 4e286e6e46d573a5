"""`hygro run`: one wall, tight and with its leaks one by one."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager, nullcontext
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from hygro.cli.options import (
    CaseArgument,
    JsonOption,
    StrictOption,
    Units,
    UnitsOption,
    WallOption,
    print_json,
)
from hygro.cli.running import end_by_verdict, files_of, one_wall, performed, planned, size_of
from hygro.terminal import say, show, write

if TYPE_CHECKING:
    import xarray as xr

    from hygro.case import Case
    from hygro.study.certainty import Certainty
    from hygro.study.compare import Compared
    from hygro.study.plan import PlannedRun


def run(
    case: CaseArgument,
    wall: WallOption = None,
    out: Annotated[Path | None, typer.Option("--out", help="Result file (.nc).")] = None,
    check: Annotated[
        bool, typer.Option("--check", help="Run again on a finer grid and say what that changes.")
    ] = False,
    every: Annotated[
        bool, typer.Option("--all", help="Show every finding, the layers, the sources of limits.")
    ] = False,
    strict: StrictOption = False,
    units: UnitsOption = Units.si,
    as_json: JsonOption = False,
) -> None:
    """Simulate one wall, tight and with its leaks one by one, and judge it.

    With --out the run with all leaks goes to its file year by year; when it is stopped, the same
    command goes on. What is judged for service goes to a second file where it is a run of its own.
    """
    from hygro.atomic import exclusive, writable_folder
    from hygro.case import load, prepare
    from hygro.show import report
    from hygro.study.plain_results import to_dict

    loaded = load(case)
    chosen = loaded.wall(wall)
    if out is not None:
        _check(out, loaded.name)
    ready, climate = prepare(replace(loaded, walls=(chosen,)))
    if out is not None:
        writable_folder(out.parent)
    runs = list(planned(ready, climate, None))
    runs[-1] = replace(runs[-1], file=out, resumable=True)
    lock = nullcontext() if out is None else exclusive(out.with_name(f".{out.name}.lock"), out)
    with lock, _told_how_to_go_on(out):
        item = one_wall(performed(ready, climate, runs, threads=True))
    checks = _checked(ready, climate, runs, item) if check else ()
    if as_json:
        print_json(to_dict((item,), (), checks))
    else:
        show(report.wall(item, climate.attrs, system=units.value, checks=checks, every=every))
        if out is not None:
            files = files_of(runs[-1], climate)
            write(f"written: {', '.join(map(str, files))}; {size_of(files)}\n")
    end_by_verdict((item,), strict=strict)


def _check(out: Path, case: str) -> None:
    from hygro.atomic import check_name, check_target
    from hygro.errors import InputError
    from hygro.record.seal import record_of
    from hygro.study.plan import SERVICE

    if out.suffix != ".nc":
        raise InputError(f"{out}: a result file ends in .nc")
    # the lock, the kept years and the record of service have longer names beside it
    check_name(out.with_name(f".{out.name}.parts"))
    service = out.with_stem(f"{out.stem}{SERVICE}")
    check_name(service)
    check_target(out, record_of(case))
    check_target(service, record_of(case))


def _checked(
    case: Case, climate: xr.Dataset, runs: Sequence[PlannedRun], item: Compared
) -> tuple[Certainty, ...]:
    from hygro.study.certainty import certainties, finer

    settings = finer(case.settings)
    bare = [replace(run, file=None) for run in runs]
    again = one_wall(performed(case, climate, bare, threads=True, settings=settings))
    return certainties(item.outcomes, again.outcomes, settings)


@contextmanager
def _told_how_to_go_on(out: Path | None) -> Iterator[None]:
    """Say after an interruption that a run to a file can be taken up."""
    try:
        yield
    except KeyboardInterrupt:
        if out is not None and out.with_name(f".{out.name}.parts").is_dir():
            say(f"the finished years of {out} are kept; the same command goes on")
        raise
