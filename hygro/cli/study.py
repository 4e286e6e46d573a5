"""`hygro study`: the studies that a case declares, planned, run, resumed and exported."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from hygro.cli.errors import Helped
from hygro.cli.options import (
    CaseArgument,
    Device,
    JsonOption,
    ProcessesOption,
    WallOption,
    print_json,
)
from hygro.cli.patience import duration, patience
from hygro.cli.running import end_by_gaps
from hygro.terminal import say, show, write
from hygro.types import Data
from hygro.units import count

if TYPE_CHECKING:
    from hygro.decide.study import Study

NameArgument = Annotated[str, typer.Argument(help="The study, a table [study.NAME] of the case.")]
StoreOption = Annotated[
    Path | None,
    typer.Option(
        "--store", help="File of results; default: NAME.study here, in --out where NAME is none."
    ),
]
ClusterOption = Annotated[
    str | None, typer.Option("--cluster", help="Address of a Dask scheduler that does the runs.")
]
StoredDeviceOption = Annotated[
    Device | None,
    typer.Option("--device", help="What marches: cpu or gpu; default: as the store has it."),
]

study = typer.Typer(cls=Helped, no_args_is_help=True, help="Run the studies that a case declares.")


def opened(case: str, name: str, store: Path | None, device: str | None, wall: str | None) -> Study:
    """Return a study of a case; its store is made where it is not there and a run asks for it.

    A device left out is the one that the store has for it, and a wall that neither the command nor
    the study names is the one that the store has.
    """
    from hygro.case import load
    from hygro.decide.store import stored_spec
    from hygro.decide.study import store_file, study_of

    file, loaded = store_file(store, name), load(case)
    there = stored_spec(file, name)
    declared = loaded.studies.get(name)
    if wall is None and declared is not None and declared.wall is None:
        wall = next((w.name for w in loaded.walls if w.name == there.get("wall")), None)
    changes = {} if wall is None else {"wall": wall}
    device = device or str(there.get("device", "cpu"))
    return study_of(loaded, name, store=file, device=device, **changes)


def made(found: Study, command: str, *, processes: int | None, cluster: str | None = None) -> Study:
    """Make what is left of a study, with its progress on the terminal."""
    from hygro.decide.runner import cores

    with patience(command) as tell:
        if cluster is None:
            return found.run(processes=processes or cores(), progress=tell)
        from hygro.decide.cluster import connected

        with connected(cluster) as client:
            return found.run(client=client, progress=tell)


@study.command()
def plan(
    case: CaseArgument,
    name: NameArgument,
    store: StoreOption = None,
    device: StoredDeviceOption = None,
    wall: WallOption = None,
    as_json: JsonOption = False,
) -> None:
    """Show every run of a study with its hash, and what they cost; makes none, writes nothing."""
    found = opened(case, name, store, device, wall)
    told = plan_facts(found)
    if as_json:
        runs = [
            {"run": r.number, "scenario": r.scenario, "sha256": r.sha256,
             **found.plan.coordinates(r.point)}
            for r in found.plan.runs
        ]  # fmt: skip
        print_json({**told, "list": runs})
        return
    show([cost_line(told), *_run_lines(found)])


def _run_lines(found: Study, most: int = 20) -> list[str]:
    runs = found.plan.runs
    lines = [
        f"{run.number:6d}  {run.sha256[:10]}  {run.scenario:5s}  "
        + ", ".join(f"{d.says} {d.told(at[d.name])}" for d in found.plan.dimensions)
        for run in runs[:most]
        for at in [found.plan.coordinates(run.point)]
    ]
    return lines + ([f"and {len(runs) - most} more; --json lists all"] if len(runs) > most else [])


def plan_facts(found: Study) -> Data:
    """What a plan costs, as plain values."""
    import os

    from hygro.decide.plan import WALL_YEARS_PER_SECOND

    wanted = found.plan.distinct
    finished = found.finished()
    left = [run for sha, run in wanted.items() if sha not in finished]
    years = found.plan.wall_years(left)
    seconds = years / (WALL_YEARS_PER_SECOND * (os.cpu_count() or 1))
    return {
        "points": len(found.plan.points),
        "runs": len(found.plan.runs),
        "distinct": len(wanted),
        "finished": len(finished),
        "wall_years_left": years,
        "minutes_left": seconds / 60.0,
    }


def cost_line(told: Data) -> str:
    """Say what a plan costs."""
    points, runs = count(told["points"], "point"), count(told["runs"], "run")
    return (
        f"{points}, {runs}, {told['distinct']} of them differ, {told['finished']} finished; "
        f"{told['wall_years_left']:.0f} wall-years left, about "
        f"{duration(60.0 * told['minutes_left'])} here"
    )


@study.command()
def run(
    case: CaseArgument,
    name: NameArgument,
    store: StoreOption = None,
    processes: ProcessesOption = None,
    cluster: ClusterOption = None,
    device: StoredDeviceOption = None,
    wall: WallOption = None,
    as_json: JsonOption = False,
) -> None:
    """Make the runs of a study that its store does not hold yet, several walls side by side.

    Stopped by Ctrl-C or by anything else, the same command goes on where it was.
    """
    found = opened(case, name, store, device, wall)
    say(cost_line(plan_facts(found)))
    made(found, _again(case, name, store), processes=processes, cluster=cluster)
    _tell(found, as_json=as_json)


@study.command()
def resume(
    case: CaseArgument,
    name: NameArgument,
    store: StoreOption = None,
    processes: ProcessesOption = None,
    cluster: ClusterOption = None,
    device: StoredDeviceOption = None,
    wall: WallOption = None,
    retry: Annotated[bool, typer.Option("--retry", help="Make failed runs again.")] = False,
    as_json: JsonOption = False,
) -> None:
    """Go on with a study; with --retry failed runs are made again."""
    _there(name, store)
    found = opened(case, name, store, device, wall)
    if retry:
        found.store.forget_failed(found.plan.distinct)
    made(found, _again(case, name, store), processes=processes, cluster=cluster)
    _tell(found, as_json=as_json)


@study.command()
def status(
    case: CaseArgument,
    name: NameArgument,
    store: StoreOption = None,
    device: StoredDeviceOption = None,
    wall: WallOption = None,
    as_json: JsonOption = False,
) -> None:
    """Say how far a study is, and what in its store is stale."""
    _there(name, store)
    found = opened(case, name, store, device, wall)
    now = found.status()
    if as_json:
        print_json({**now._asdict(), "left": now.left})
        return
    lines = [
        f"{now.done} of {now.distinct} runs done, {now.failed} failed, {now.left} left",
        f"{now.years:.0f} wall-years in {duration(now.seconds)} of core time",
    ]
    if now.claimed:
        lines.append(f"{now.claimed} being made now by another process")
    if now.other:
        lines.append(f"{now.other} more results, which other commands asked for")
    if now.stale:
        lines.append(f"{now.stale} results of an earlier case, engine or device, not used")
    show(lines)


@study.command()
def export(
    case: CaseArgument,
    name: NameArgument,
    file: Annotated[Path, typer.Argument(help="Results: .nc, or .zarr for a Zarr folder.")],
    store: StoreOption = None,
    device: StoredDeviceOption = None,
    wall: WallOption = None,
) -> None:
    """Write what is finished of a study as a Dataset over what varies."""
    from hygro.decide.export import write_dataset

    _there(name, store)
    found = opened(case, name, store, device, wall)
    now = found.status()
    write_dataset(found.to_dataset(), file)
    write(f"written: {file}, {now.done} of {now.distinct} runs\n")


def _again(case: str, name: str, store: Path | None) -> str:
    """The command that goes on with a study; its store knows the wall."""
    return f"hygro study resume {case} {name}" + (f" --store {store}" if store else "")


def _tell(found: Study, *, as_json: bool) -> None:
    from hygro.decide.finding import remember_points
    from hygro.decide.tables import study_pieces

    results = found.points()
    remember_points(found)
    if as_json:
        print_json([point._asdict() for point in results])
    else:
        show(study_pieces(found, results))
    end_by_gaps([point.error for point in results], "point")


def _there(name: str, store: Path | None) -> None:
    """Refuse a store that there is not: asking for what is in it shall make none."""
    from hygro.decide.study import store_file
    from hygro.errors import InputError

    file = store_file(store, name)
    if not file.exists():
        raise InputError(
            f"{file}: no such store; is it the name of its file, from this folder? "
            "`hygro study run` makes one there"
        )
