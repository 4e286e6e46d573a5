"""The command line: reads arguments, calls the package, prints. Owns no physics and no format.

Everything heavy is imported inside the commands, so that help answers at once. Exit codes: 0 done,
2 something the user can mend, 130 stopped by Ctrl-C.
"""

from __future__ import annotations

import atexit
import gc
import json
import sys
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from typer.core import TyperGroup

if TYPE_CHECKING:
    import xarray as xr
    from rich.console import RenderableType

    from hygro.case import Case, CaseWall
    from hygro.solve.settings import Settings
    from hygro.study.certainty import Certainty
    from hygro.study.compare import Compared, Failure, Outcome, Run


class _Group(TyperGroup):
    """Turns errors the user can mend into lines on stderr, without a traceback."""

    def invoke(self, ctx: Any) -> Any:
        # Loading makes a million lasting objects; the usual rate looks through them all too often.
        gc.set_threshold(100_000, 20, 20)
        # A process that ends takes all of it along; looking through it once more takes 0.2 s.
        atexit.register(gc.freeze)
        try:
            return super().invoke(ctx)
        except ValueError as error:
            if not _can_be_mended(error):
                raise
            for line in str(error).splitlines():
                typer.echo(f"error: {line}", err=True)
            raise typer.Exit(2) from None
        except KeyboardInterrupt:
            typer.echo("stopped; files already written are complete", err=True)
            raise typer.Exit(130) from None


def _can_be_mended(error: ValueError) -> bool:
    from hygro.errors import HygroError
    from weather.errors import WeatherError

    return isinstance(error, HygroError | WeatherError)


app = typer.Typer(
    cls=_Group,
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    help="Hourly heat and moisture simulation of layered walls.",
)


class Units(StrEnum):
    """Unit family of what is printed."""

    si = "si"
    ip = "ip"


CaseArgument = Annotated[str, typer.Argument(help="Case file, or the name of a built-in case.")]
UnitsOption = Annotated[Units, typer.Option("--units", help="Unit family of what is printed.")]
JsonOption = Annotated[bool, typer.Option("--json", help="Print JSON, for scripts.")]
ProcessesOption = Annotated[
    int | None, typer.Option("--processes", min=1, help="Runs at a time; default: one per core.")
]


@app.command()
def run(
    case: CaseArgument,
    wall: Annotated[str | None, typer.Option("--wall", help="Name of the wall.")] = None,
    out: Annotated[Path | None, typer.Option("--out", help="Result file (.nc).")] = None,
    check: Annotated[
        bool, typer.Option("--check", help="Run again on a finer grid and say what that changes.")
    ] = False,
    units: UnitsOption = Units.si,
    as_json: JsonOption = False,
) -> None:
    """Simulate one wall, with its leaks and without, and judge it.

    With --out the run goes to its file year by year; when it is stopped, the same command goes on.
    """
    from hygro.atomic import writable_folder
    from hygro.case import load, prepare

    loaded = load(case)
    chosen = loaded.wall(wall) if wall is not None else _only(loaded)
    if out is not None:
        _check_target(out)
    ready, climate = prepare(replace(loaded, walls=(chosen,)))
    if out is not None:
        writable_folder(out.parent)
    runs = list(_plan(ready, None))
    runs[-1] = replace(runs[-1], file=out, resumable=True)
    with _told_how_to_go_on(out):
        results = _perform(ready, climate, runs, threads=True)
    item = _one_wall(results)
    checks = _checked(ready, climate, runs, item) if check else ()
    if as_json:
        _print_json((item,), (), checks)
        return
    from hygro.show import report

    _print(report.wall(item, climate.attrs, system=units.value, checks=checks))
    if out is not None:
        typer.echo(f"written: {out}")


@app.command()
def compare(
    case: CaseArgument,
    wall: Annotated[
        list[str] | None, typer.Option("--wall", help="Only this wall; may be repeated.")
    ] = None,
    out: Annotated[Path | None, typer.Option("--out", help="Folder for results.")] = None,
    units: UnitsOption = Units.si,
    as_json: JsonOption = False,
    processes: ProcessesOption = None,
) -> None:
    """Simulate the walls of a case, tight and with their leaks one by one, and rank them."""
    from hygro.atomic import check_folder, writable_folder
    from hygro.case import load, prepare
    from hygro.study.compare import failures, paired

    loaded = load(case)
    if wall:
        loaded = replace(loaded, walls=tuple(loaded.wall(name) for name in wall))
    if out is not None:
        check_folder(out)
    ready, climate = prepare(loaded)
    if out is not None:
        writable_folder(out)
    results = _perform(ready, climate, _plan(ready, out), processes=processes)
    compared, failed = paired(results), failures(results)
    written: tuple[Path, ...] = ()
    if out is not None:
        from hygro.show.files import write_comparison

        order = [item.name for item in ready.walls]
        written = write_comparison(
            compared, failed, out, title=ready.name, order=order, system=units.value
        )
    if as_json:
        _print_json(compared, failed)
    else:
        _print_comparison(ready, compared, failed, climate, units)
    if written and not as_json:
        typer.echo(f"written to {out}: results (.nc), " + ", ".join(p.name for p in written[:3]))
    if failed:
        _fail(failed)


@app.command()
def bears(
    case: CaseArgument,
    path: Annotated[
        str, typer.Argument(help="Number to vary: 'wall.\"name\".leaks.rain.fraction'.")
    ],
    low: Annotated[float, typer.Option("--low", help="Least value, SI.")],
    high: Annotated[float, typer.Option("--high", help="Greatest value, SI.")],
    wall: Annotated[str | None, typer.Option("--wall", help="Name of the wall.")] = None,
    within: Annotated[
        float | None, typer.Option("--within", help="Precision, SI; default 1/64 of the range.")
    ] = None,
    lowest: Annotated[
        bool, typer.Option("--lowest", help="Find the least that passes, not the most.")
    ] = False,
    as_json: JsonOption = False,
) -> None:
    """Find the most (or least) of one number of a case at which a wall still passes."""
    from hygro.case import load, prepare, verdict_along
    from hygro.study.tolerance import tolerance

    ready, climate = prepare(load(case))
    chosen = ready.wall(wall) if wall is not None else _only(ready)
    found = tolerance(
        verdict_along(ready, climate, chosen.name, path),
        low,
        high,
        side="lowest" if lowest else "highest",
        within=(high - low) / 64 if within is None else within,
    )
    if as_json:
        typer.echo(json.dumps(found.__dict__, indent=2, ensure_ascii=False))
        return
    for line in found.lines(path):
        typer.echo(line)


@app.command()
def show(
    file: Annotated[Path, typer.Argument(help="Result file (.nc) of an earlier run.")],
    sheathing: Annotated[
        str | None, typer.Option("--sheathing", help="Layer to judge as sheathing.")
    ] = None,
    rules: Annotated[
        str | None,
        typer.Option("--rules", help="default, ashrae-160, en-15026 or iso-13788."),
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """Judge a saved result again by the criteria of its case, without running it."""
    from hygro.case import judge_stored
    from hygro.record import load

    record = load(file)
    found = judge_stored(record, sheathing=sheathing, rules=rules)
    if as_json:
        typer.echo(found.to_json())
        return
    from hygro.show import report

    _print(report.stored(record.attrs, found))


@app.command(name="weather")
def weather_command(
    file: Annotated[str, typer.Argument(help="Weather file, or a case for its climate.")],
    units: UnitsOption = Units.si,
    as_json: JsonOption = False,
) -> None:
    """Show what is in a weather file and what is missing, its zone, rain and driving rain."""
    from hygro.show import climate as shown
    from hygro.show import report

    found = _weather(file)
    known = shown.facts(found)
    if as_json:
        typer.echo(json.dumps(known, indent=2, ensure_ascii=False))
        return
    _print(shown.lines(known, system=units.value))
    _print([shown.variables(found, system=units.value)])
    if known["summary"] is not None:
        _print([shown.months(known["summary"], system=units.value)])
        if known["summary"]["driving_rain"] is not None:
            _print([shown.driving_rain(known["summary"], system=units.value)])
    _print(f"note: {line}" for line in known["history"])
    _print(report.cautions(found.attrs, ()))


@app.command()
def materials(
    key: Annotated[str | None, typer.Argument(help="Material to show in full.")] = None,
    group: Annotated[str | None, typer.Option("--group", help="List only this group.")] = None,
    units: UnitsOption = Units.si,
    as_json: JsonOption = False,
) -> None:
    """List the materials, or show one with units and sources."""
    from hygro.material import describe
    from hygro.show.materials import listings, sheet

    if key is not None:
        details = describe.details(key, units.value)
        if as_json:
            typer.echo(json.dumps([d._asdict() for d in details], indent=2, ensure_ascii=False))
        else:
            _print([sheet(key, details)])
        return
    rows = [r for r in describe.rows(units.value) if group in (None, r["group"])]
    if not rows:
        _no_such_group(str(group), [str(r["group"]) for r in describe.rows()])
    if as_json:
        typer.echo(json.dumps(rows, indent=2, ensure_ascii=False))
    else:
        _print(listings(rows, describe.columns(units.value)))


@app.command()
def schema(
    out: Annotated[Path | None, typer.Option("--out", help="File to write it to.")] = None,
) -> None:
    """Print the JSON schema of the case file."""
    from hygro.atomic import write_text
    from hygro.case.publish import schema_text

    if out is None:
        typer.echo(schema_text(), nl=False)
    else:
        write_text(out, schema_text())


@app.command()
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
    from hygro.atomic import writable_folder
    from hygro.proof import report
    from hygro.proof.run import chosen, perform, together
    from hygro.terminal import progress

    cases = chosen(names or [])
    if out is not None:
        writable_folder(out)
    with progress([f"{len(cases)} cases"]) as tell:
        results = perform(cases, processes=processes, progress=together(tell, len(cases)))
    if as_json:
        typer.echo(report.to_json(results))
    else:
        _print(report.pieces(results), width=200)
    if out is not None:
        written = report.write(results, out)
        typer.echo(f"written to {out}: {len(written)} files", err=as_json)
    if report.failed(results):
        raise typer.Exit(1)


def _only(case: Case) -> CaseWall:
    from hygro.errors import InputError

    if len(case.walls) > 1:
        names = ", ".join(f'"{item.name}"' for item in case.walls)
        raise InputError(
            f"{case.path.name} has {len(case.walls)} walls; say --wall, one of {names}"
        )
    return case.walls[0]


def _check_target(out: Path) -> None:
    from hygro.atomic import check_folder
    from hygro.errors import InputError

    if out.suffix != ".nc":
        raise InputError(f"{out}: a result file ends in .nc")
    if out.is_dir():
        raise InputError(f"{out}: is a folder; a file name is needed")
    check_folder(out.parent)


def _no_such_group(group: str, groups: list[str]) -> None:
    from hygro.errors import InputError, near_matches

    raise InputError(f"--group {group}: no such group; {near_matches(group, sorted(set(groups)))}")


def _weather(file: str) -> xr.Dataset:
    import weather
    from hygro.case import built_in, climate, load

    if file in built_in() or Path(file).suffix == ".toml":
        return climate(load(file))
    return weather.read(file)


def _plan(case: Case, folder: Path | None) -> tuple[Run, ...]:
    from hygro.study.compare import plan

    walls = [(item.wall, item.room, item.sheathing) for item in case.walls]
    provenance = {
        "case": case.name,
        "case_file": case.path.name,
        "case_sha256": case.sha256,
        "case_text": case.text,
    }
    return plan(walls, folder=folder, provenance=provenance, repeat=case.repeat)


def _perform(
    case: Case,
    climate: xr.Dataset,
    runs: Sequence[Run],
    *,
    processes: int | None = None,
    threads: bool = False,
    settings: Settings | None = None,
) -> tuple[Outcome | Failure, ...]:
    from hygro.study.compare import Judging, perform
    from hygro.terminal import progress

    judging = Judging(case.criteria, case.skip_days, case.mould_model)
    with progress(_names(runs)) as tell:
        return perform(
            runs,
            climate,
            settings=settings or case.settings,
            judging=judging,
            progress=tell,
            processes=processes,
            threads=threads,
        )


def _one_wall(results: Sequence[Outcome | Failure]) -> Compared:
    from hygro.errors import SolveError
    from hygro.study.compare import failures, paired

    failed = failures(results)
    if failed:
        raise SolveError("\n".join(dict.fromkeys(item.error for item in failed)))
    return paired(results)[0]


def _checked(
    case: Case, climate: xr.Dataset, runs: Sequence[Run], item: Compared
) -> tuple[Certainty, ...]:
    from hygro.study.certainty import certainties, finer

    settings = finer(case.settings)
    bare = [replace(run, file=None) for run in runs]
    again = _one_wall(_perform(case, climate, bare, threads=True, settings=settings))
    return certainties(item.outcomes, again.outcomes, settings)


def _fail(failed: Sequence[Failure]) -> None:
    from hygro.show.report import failure_lines

    for line in failure_lines(failed):
        typer.echo(f"error: {line}", err=True)
    raise typer.Exit(2)


@contextmanager
def _told_how_to_go_on(out: Path | None) -> Iterator[None]:
    """Say after Ctrl-C that a run to a file can be taken up."""
    try:
        yield
    except KeyboardInterrupt:
        if out is not None and out.with_name(f".{out.name}.parts").is_dir():
            typer.echo(f"the finished years of {out} are kept; the same command goes on", err=True)
        raise


def _print(pieces: Iterable[RenderableType], **options: int) -> None:
    from hygro import terminal

    terminal.show(pieces, **options)


def _names(runs: Sequence[Run]) -> list[str]:
    return [f"{run.name}, {run.scenario}" for run in runs]


def _print_json(
    compared: Sequence[Compared], failed: Sequence[Failure], checks: Sequence[Certainty] = ()
) -> None:
    from hygro.study.told import to_json

    typer.echo(to_json(compared, failed, checks))


def _print_comparison(
    case: Case,
    compared: Sequence[Compared],
    failed: Sequence[Failure],
    climate: xr.Dataset,
    units: Units,
) -> None:
    from hygro.show import report

    told = (case.name, case.note, compared, failed, climate.attrs)
    _print(report.comparison(*told, system=units.value))


if __name__ == "__main__":
    sys.exit(app())
