"""From a case to the outcomes of its runs. Owns what several commands share of that."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from hygro.cli.errors import BAD_INPUT, IN_PART, OVER_LIMIT
from hygro.terminal import say

if TYPE_CHECKING:
    import xarray as xr

    from hygro.case import Case
    from hygro.solve.settings import Settings
    from hygro.study.compare import Compared
    from hygro.study.plan import PlannedRun
    from hygro.study.runs import Failure, Outcome


def planned(case: Case, climate: xr.Dataset, folder: Path | None) -> tuple[PlannedRun, ...]:
    """Return the runs of a case, each with what its record shall say of its origin."""
    from hygro.study.plan import Candidate, plan

    walls = [Candidate(x.wall, x.room, x.room_name) for x in case.walls]
    provenance = {
        "case": case.name,
        # a name of bytes that are no text cannot be stored
        "case_file": case.path.name.encode("utf-8", "replace").decode(),
        "case_sha256": case.sha256,
        "case_text": case.text,
    }
    place = str(climate.attrs.get("place") or climate.attrs.get("source", ""))
    return plan(walls, folder=folder, provenance=provenance, repeat=case.repeat, place=place)


def files_of(run: PlannedRun, climate: xr.Dataset) -> list[Path]:
    """Return the files in which the records of a run lie."""
    from hygro.study.runs import asks_for_service

    two = asks_for_service(run, climate.sizes["time"])
    both = (run.file, run.service_file if two else None)
    return [path for path in both if path is not None]


def size_of(files: Iterable[Path]) -> str:
    """Say how much room files take together."""
    return f"{sum(path.stat().st_size for path in files) / 1e6:.3g} MB"


def performed(
    case: Case,
    climate: xr.Dataset,
    runs: Sequence[PlannedRun],
    *,
    processes: int | None = None,
    threads: bool = False,
    settings: Settings | None = None,
) -> tuple[Outcome | Failure, ...]:
    """Perform runs with their progress on the terminal."""
    from hygro.case import judging
    from hygro.study.perform import perform
    from hygro.terminal import progress

    names = [f"{run.name}, {run.scenario}" for run in runs]
    with progress(names) as tell:
        return perform(
            runs,
            climate,
            settings=settings or case.settings,
            judging=judging(case),
            progress=tell,
            processes=processes,
            threads=threads,
        )


def reserved(
    case: Case, climate: xr.Dataset, compared: Sequence[Compared], *, whole: bool = True
) -> tuple[Compared, ...]:
    """Return compared walls with their reserves, whole or as far as the ranking needs.

    With progress on the terminal.
    """
    from hygro.case import judging
    from hygro.study.bearing import with_reserves
    from hygro.terminal import progress

    items = [case.wall(item.name) for item in compared]
    with progress([f"{item.name}, reserve" for item in items]) as tell:
        return with_reserves(
            compared,
            {item.name: (item.wall, item.room) for item in items},
            climate,
            whole=whole,
            settings=case.settings,
            judging=judging(case),
            repeat=case.repeat,
            progress=lambda number: tell(number, 1.0, ""),
        )


def one_wall(results: Sequence[Outcome | Failure]) -> Compared:
    """Return the only wall of some results; raises `SolveError` where one of its runs failed."""
    from hygro.errors import SolveError
    from hygro.study.compare import failures, paired

    failed = failures(results)
    if failed:
        raise SolveError("\n".join(dict.fromkeys(item.error for item in failed)))
    return paired(results)[0]


def end_by_gaps(errors: Sequence[str], thing: str) -> None:
    """Where some of what was asked for has an error, say of how many, and end with its code.

    `errors` has one text for each thing, empty where it was computed.
    """
    from hygro.units import count

    wrong = [error for error in errors if error]
    if wrong:
        number = f"{len(wrong)} of {count(len(errors), thing)}"
        say(f"error: {number} could not be computed; the first: {wrong[0]}")
        raise typer.Exit(BAD_INPUT if len(wrong) == len(errors) else IN_PART)


def end_by_verdict(compared: Sequence[Compared], *, strict: bool) -> None:
    """With `strict`, end with code 1 unless every wall is within its limits."""
    if strict and not all(item.passed is True for item in compared):
        raise typer.Exit(OVER_LIMIT)
