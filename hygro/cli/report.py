"""`hygro report`: one page of what runs found, for those who look before they read."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Annotated, NamedTuple

import typer

from hygro.cli.errors import IN_PART
from hygro.cli.options import ProcessesOption, Units, UnitsOption
from hygro.cli.running import performed, planned, reserved
from hygro.terminal import say, write

if TYPE_CHECKING:
    from hygro.assess.criteria import Judged
    from hygro.case import Case
    from hygro.study.certainty import Certainty
    from hygro.study.reserve import Reserve


def report(
    sources: Annotated[
        list[str],
        typer.Argument(help="Case, result files (.nc), a folder of them, or stores of studies."),
    ],
    out: Annotated[Path, typer.Option("--out", help="The page (.html).")] = Path("report.html"),
    results: Annotated[
        Path | None, typer.Option("--results", help="Folder in which runs of a case are kept.")
    ] = None,
    study: Annotated[
        list[Path] | None,
        typer.Option("--study", help="Store of studies to tell of beside; may be repeated."),
    ] = None,
    check: Annotated[
        bool, typer.Option("--check", help="Run a case again on a finer grid: total error.")
    ] = False,
    reserve: Annotated[
        bool,
        typer.Option("--reserve", help="Search how much more each wall of a case bears; long."),
    ] = False,
    units: UnitsOption = Units.si,
    processes: ProcessesOption = None,
) -> None:
    """Write one self-contained page: verdicts, walls, evidence, inputs, assumptions.

    A case is run first; results of `hygro compare CASE --out DIR` are read as they are, and so are
    the stores of `hygro map`, `least`, `limit`, `sample`, `years` and `study run`.
    """
    from hygro.atomic import check_target
    from hygro.case import load
    from hygro.errors import InputError
    from hygro.kinds import refuse_other
    from hygro.page.report import page_of
    from hygro.page.report import report as write_page
    from hygro.page.studies import studies_of

    if out.suffix not in (".html", ".htm"):
        raise InputError(f"{out}: a page ends in .html")
    check_target(out, made=False)
    stores = study or []
    studies_of(stores)  # what is wrong with them is told before the runs
    files = record_files(sources)
    if files is not None:
        if check or results or reserve:
            raise InputError(
                "--check, --reserve and --results need a case, which is run; these are results"
            )
        bears = _stored_reserves(sources)
        write_page(files, out=out, studies=stores, system=units.value, reserves=bears)
        write(f"written: {out}\n")
        return
    if len(sources) > 1:
        raise InputError(f"report: one case, or result files; given {', '.join(sources)}")
    case = load(sources[0])
    refuse_other(out, page_of(case.name))
    with _folder(results) as folder:
        made = _run(case, folder, check=check, reserve=reserve, processes=processes)
        found = sorted(folder.glob("*.nc"))
        write_page(found, out=out, studies=stores, system=units.value, **made._asdict())
    write(f"written: {out}\n")
    for line in made.failed:
        say(f"error: {line}")
    if made.failed:
        raise typer.Exit(IN_PART)


def record_files(sources: Sequence[str]) -> list[Path] | None:
    """Result files, by name or by folder, and stores of studies; None where a case is named.

    Raises
    ------
    InputError
        A folder without results.
    """
    from hygro.decide.study import SUFFIX
    from hygro.errors import InputError
    from hygro.page.studies import is_store

    found: list[Path] = []
    for name in sources:
        path = Path(name)
        if path.suffix in (".nc", SUFFIX) or is_store(path):
            found.append(path)
        elif path.is_dir():
            inside = sorted(path.glob("*.nc"))
            if not inside:
                raise InputError(f"{path}: holds no result (.nc)")
            found += inside
        else:
            return None
    return found


def _stored_reserves(sources: Sequence[str]) -> dict[str, Reserve]:
    """What the walls of folders bear, as the comparison that made them has left it there."""
    from hygro.study.plain_results import stored_reserves

    files = [Path(name) / "comparison.json" for name in sources]
    found: dict[str, Reserve] = {}
    for path in files:
        if path.is_file():
            found |= stored_reserves(path)
    return found


@contextmanager
def _folder(kept: Path | None) -> Iterator[Path]:
    """Where the runs go: kept if asked, else gone after the page is written."""
    from hygro.atomic import check_folder, exclusive, writable_folder

    if kept is None:
        with TemporaryDirectory(prefix="hygro-report-") as name:
            yield Path(name)
        return
    check_folder(kept)
    with exclusive(writable_folder(kept) / ".hygro.lock", kept):
        yield kept


class _Made(NamedTuple):
    """What the page tells of the runs beside their records."""

    checks: dict[str, tuple[Certainty, ...]]
    reserves: dict[str, Reserve]
    failed: list[str]
    criteria: tuple[Judged, ...] | str


def _run(case: Case, folder: Path, *, check: bool, reserve: bool, processes: int | None) -> _Made:
    """Run a case into a folder, again on a finer grid and along its reserves where asked."""
    from hygro.case import prepare
    from hygro.show.report import failure_lines
    from hygro.study.certainty import certainties, finer
    from hygro.study.compare import failures, paired

    ready, climate = prepare(case)
    runs = planned(ready, climate, folder)
    found = performed(ready, climate, runs, processes=processes)
    walls = paired(found)
    checks = {}
    if check:
        settings = finer(ready.settings)
        bare = [replace(run, file=None) for run in runs]
        again = performed(ready, climate, bare, processes=processes, settings=settings)
        fine = {item.name: item.outcomes for item in paired(again)}
        checks = {
            item.name: certainties(item.outcomes, fine[item.name], settings)
            for item in walls
            if item.name in fine
        }
    bears = reserved(ready, climate, walls) if reserve else ()
    return _Made(
        checks,
        {item.name: item.reserve for item in bears if item.reserve is not None},
        failure_lines(failures(found)),
        ready.criteria,
    )
