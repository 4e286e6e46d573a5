"""`hygro map`: where a wall passes over two quantities, and what decides."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from hygro.cli.options import (
    CaseArgument,
    Device,
    DeviceOption,
    JsonOption,
    ProcessesOption,
    Units,
    UnitsOption,
    WallOption,
    print_json,
)
from hygro.cli.patience import duration, patience
from hygro.cli.running import end_by_gaps
from hygro.cli.study import ClusterOption, StoreOption
from hygro.terminal import show, write


def map(  # the name of the command
    case: CaseArgument,
    name: Annotated[
        str | None, typer.Argument(help="A study [study.NAME] of the case with two ranges.")
    ] = None,
    x: Annotated[
        str | None,
        typer.Option("--x", help="Quantity across: 'outboard_share, 10 %, 90 %'; or a path."),
    ] = None,
    y: Annotated[
        str | None, typer.Option("--y", help="Quantity up: 'winter_rh, 20 %, 60 %'.")
    ] = None,
    wall: WallOption = None,
    full: Annotated[
        bool, typer.Option("--full", help="Run every point of the grid, not only along the line.")
    ] = False,
    out: Annotated[Path, typer.Option("--out", help="Folder for figure and tables.")] = Path(
        "results"
    ),
    store: StoreOption = None,
    processes: ProcessesOption = None,
    cluster: ClusterOption = None,
    device: DeviceOption = Device.cpu,
    units: UnitsOption = Units.si,
    as_json: JsonOption = False,
) -> None:
    """Map a wall over two quantities: where it just passes, and which criterion decides where.

    Leaks as in the verdict. A coarse grid first, then pairs of points along the line alone; --full
    runs 20 values of each quantity. Figure (.png), table (.csv) and .json go to --out.
    """
    from hygro.case import load
    from hygro.decide.asked import asked_study
    from hygro.decide.beside import beside
    from hygro.decide.cluster import pool_of
    from hygro.decide.files import ready_folder
    from hygro.decide.finding import remember
    from hygro.decide.map import make_map
    from hygro.decide.map_files import map_lines, plain_map, write_map
    from hygro.decide.runner import cores

    study = asked_study(
        load(case), name, {"x": x, "y": y}, wall=wall, store=store, folder=out, device=device
    )
    folder = ready_folder(study, out)
    with patience("the same command") as tell, pool_of(cluster) as pool:
        found = make_map(study, full=full, processes=processes or cores(), pool=pool, progress=tell)
    next_to = beside(found)
    remember(study, "map", found, found.plan, next_to)
    written = write_map(found, next_to, folder, study.name, units.value)
    if as_json:
        print_json(plain_map(found, next_to))
    else:
        status = study.status()
        show(map_lines(found, next_to, units.value))
        write(
            f"written to {folder}: {', '.join(path.name for path in written)}; "
            f"{duration(status.seconds)} of core time\n"
        )
    end_by_gaps([point.error for point in found.results], "point")
