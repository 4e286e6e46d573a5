"""The command line: reads arguments, calls the package, prints. Owns no physics and no format.

Everything heavy is imported inside the commands, so that help answers at once. Exit codes: 0 done,
2 something the user can mend, 130 stopped by Ctrl-C.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from typer.core import TyperGroup

if TYPE_CHECKING:
    import xarray as xr
    from rich.console import Console

    from hygro.case import Case, CaseWall
    from hygro.study.compare import Compared, Run


class _Group(TyperGroup):
    """Turns errors the user can mend into lines on stderr, without a traceback."""

    def invoke(self, ctx: Any) -> Any:
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
    units: UnitsOption = Units.si,
    as_json: JsonOption = False,
) -> None:
    """Simulate one wall, with its leaks and without, and judge it."""
    from hygro.case import load, prepare

    loaded = load(case)
    chosen = loaded.wall(wall) if wall is not None else _only(loaded)
    if out is not None:
        _check_target(out)
    ready, climate = prepare(replace(loaded, walls=(chosen,)))
    runs = list(_plan(ready, None))
    runs[-1] = replace(runs[-1], file=out)
    compared = _perform(ready, climate, runs, processes=1)
    if as_json:
        _print_json(compared)
        return
    _print_run(compared[0], climate, units)
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
    """Simulate the walls of a case and rank them by margin, leaks off and on side by side."""
    from hygro.atomic import writable_folder
    from hygro.case import load, prepare

    loaded = load(case)
    if wall:
        loaded = replace(loaded, walls=tuple(loaded.wall(name) for name in wall))
    if out is not None:
        writable_folder(out)
    ready, climate = prepare(loaded)
    compared = _perform(ready, climate, _plan(ready, out), processes=processes)
    written: tuple[Path, ...] = ()
    if out is not None:
        from hygro.show.files import write_comparison

        order = [item.name for item in ready.walls]
        written = write_comparison(compared, out, title=ready.name, order=order, system=units.value)
    if as_json:
        _print_json(compared)
        return
    _print_comparison(ready, compared, climate, units)
    if written:
        typer.echo(f"written to {out}: results (.nc), " + ", ".join(p.name for p in written[:3]))


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
    as_json: JsonOption = False,
) -> None:
    """Judge a saved result again, without running it."""
    from hygro.assess import verdict
    from hygro.record import load
    from hygro.show import tables, words

    found = verdict(load(file), sheathing=sheathing)
    if as_json:
        typer.echo(found.to_json())
        return
    console = _console()
    console.print(tables.findings(found))
    for finding in found.failed:
        console.print(f"  {finding.reason}", markup=False)
    for line in words.CAUTIONS:
        console.print(f"· {line}", style="dim", markup=False)


@app.command(name="weather")
def weather_command(
    file: Annotated[str, typer.Argument(help="Weather file, or a case for its climate.")],
    units: UnitsOption = Units.si,
    as_json: JsonOption = False,
) -> None:
    """Show what is in a weather file and what is missing, its zone, rain and driving rain."""
    from hygro.show import climate as shown

    found = _weather(file)
    known = shown.facts(found)
    if as_json:
        typer.echo(json.dumps(known, indent=2, ensure_ascii=False))
        return
    console = _console()
    for line in shown.lines(known, system=units.value):
        console.print(line, markup=False)
    console.print(shown.variables(found, system=units.value))
    if known["summary"] is not None:
        console.print(shown.months(known["summary"], system=units.value))
        if known["summary"]["driving_rain"] is not None:
            console.print(shown.driving_rain(known["summary"], system=units.value))
    for line in known["history"]:
        console.print(f"note: {line}", markup=False)
    _print_cautions(console, found, ())


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
            _console().print(sheet(key, details))
        return
    rows = [r for r in describe.rows(units.value) if group in (None, r["group"])]
    if not rows:
        _no_such_group(str(group), [str(r["group"]) for r in describe.rows()])
    if as_json:
        typer.echo(json.dumps(rows, indent=2, ensure_ascii=False))
    else:
        _console().print(*listings(rows, describe.columns(units.value)))


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


def _only(case: Case) -> CaseWall:
    from hygro.errors import InputError

    if len(case.walls) > 1:
        names = ", ".join(f'"{item.name}"' for item in case.walls)
        raise InputError(
            f"{case.path.name} has {len(case.walls)} walls; say --wall, one of {names}"
        )
    return case.walls[0]


def _check_target(out: Path) -> None:
    from hygro.atomic import writable_folder
    from hygro.errors import InputError

    if out.suffix != ".nc":
        raise InputError(f"{out}: a result file ends in .nc")
    if out.is_dir():
        raise InputError(f"{out}: is a folder; a file name is needed")
    writable_folder(out.parent)


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
    return plan(walls, folder=folder, provenance=provenance)


def _perform(
    case: Case, climate: xr.Dataset, runs: Sequence[Run], *, processes: int | None
) -> tuple[Compared, ...]:
    from hygro.study.compare import Judging, paired, perform

    judging = Judging(case.criteria, case.skip_days, case.mould_model)
    with _progress(runs) as tell:
        outcomes = perform(
            runs,
            climate,
            settings=case.settings,
            judging=judging,
            progress=tell,
            processes=processes,
        )
    return paired(outcomes)


@contextmanager
def _progress(runs: Sequence[Run]) -> Iterator[Callable[[int, float, str], None]]:
    """Bars on stderr while it is a terminal; they leave nothing behind."""
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

    console = Console(stderr=True)
    columns = (
        TextColumn("{task.description}"),
        BarColumn(style="dim", complete_style="bold", finished_style="dim", pulse_style="dim"),
        TextColumn("{task.fields[date]}"),
        TimeElapsedColumn(),
    )
    with Progress(
        *columns, console=console, transient=True, disable=not console.is_terminal
    ) as bar:
        names = [f"{r.name}{', leaks on' if r.leaks else ''}" for r in runs]
        tasks = [bar.add_task(name, total=1.0, start=False, date="") for name in names]

        def tell(number: int, fraction: float, date: str) -> None:
            task = tasks[number]
            if fraction < 1.0 or not bar.tasks[number].started:
                bar.start_task(task)
            bar.update(task, completed=fraction, date=date[:10])

        yield tell


def _console() -> Console:
    from rich.console import Console

    console = Console(highlight=False)
    # A table needs its columns: where output goes to a file or pipe, lines may be long.
    return console if console.is_terminal else Console(highlight=False, width=120)


def _print_json(compared: Sequence[Compared]) -> None:
    from hygro.study.compare import to_json

    typer.echo(to_json(compared))


def _print_run(item: Compared, climate: xr.Dataset, units: Units) -> None:
    from hygro.show import tables

    console = _console()
    hand = item.tight.hand
    console.print(tables.hand(hand, system=units.value))
    for line in tables.hand_lines(hand, system=units.value):
        console.print(f"  {line}", markup=False)
    for outcome in item.outcomes:
        console.print()
        word = "with leaks" if outcome.run.leaks else "without leaks"
        console.print(f"{item.name}, {word}", style="bold", markup=False)
        console.print(tables.findings(outcome.verdict))
    console.print(tables.comparison((item,), system=units.value))
    for line in tables.reasons((item,)):
        console.print(f"  {line}", markup=False)
    _print_cautions(console, climate, (item,))


def _print_comparison(
    case: Case, compared: Sequence[Compared], climate: xr.Dataset, units: Units
) -> None:
    from hygro.show import tables

    console = _console()
    console.print(case.name, style="bold", markup=False)
    if case.note:
        console.print(case.note, markup=False)
    console.print(tables.comparison(compared, system=units.value))
    for line in tables.legend(compared, system=units.value):
        console.print(line, markup=False)
    console.print()
    lines = tables.reasons(compared)
    if lines:
        console.print("Why", style="bold")
    for line in lines:
        console.print(f"  {line}", markup=False)
    _print_cautions(console, climate, compared)


def _print_cautions(console: Console, climate: xr.Dataset, compared: Sequence[Compared]) -> None:
    from hygro.show import words

    lines = [*words.weather_cautions(climate.attrs)]
    if compared:
        bare = [f"'{item.name}'" for item in compared if item.leaky is None]
        lines += [words.NO_LEAKS.format(walls=", ".join(bare))] if bare else []
        lines += [words.LEAKS_DECIDE] if len(bare) < len(compared) else []
        lines += words.CAUTIONS
    if lines:
        console.print()
    for line in lines:
        console.print(f"· {line}", style="dim", markup=False)


if __name__ == "__main__":
    sys.exit(app())
