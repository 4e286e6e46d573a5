"""`hygro least`: the least of a quantity at which a wall passes, as a table."""

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
from hygro.cli.patience import patience
from hygro.cli.running import end_by_gaps
from hygro.cli.study import ClusterOption, NameArgument, StoreOption, opened
from hygro.terminal import show, write


def least(
    case: CaseArgument,
    name: NameArgument,
    within: Annotated[
        float | None,
        typer.Option("--within", help="Width of the bracket, in the unit of the range."),
    ] = None,
    check: Annotated[
        bool, typer.Option(help="Run again with every cell halved where the wall just passes.")
    ] = True,
    out: Annotated[Path, typer.Option("--out", help="Folder for the tables.")] = Path("results"),
    store: StoreOption = None,
    processes: ProcessesOption = None,
    cluster: ClusterOption = None,
    device: DeviceOption = Device.cpu,
    wall: WallOption = None,
    units: UnitsOption = Units.si,
    as_json: JsonOption = False,
) -> None:
    """Find the least value of one range for every combination of climates, rooms and claddings.

    The study has one range, such as outboard_R, and lists for the rest: climate, room,
    layers.cladding.material, ... Judged as `compare` judges: tight and with the leaks one by one.
    """
    from hygro.decide.cluster import pool_of
    from hygro.decide.files import ready_folder
    from hygro.decide.finding import remember
    from hygro.decide.in_units import found_in
    from hygro.decide.least import find_least
    from hygro.decide.least_files import ENDINGS, least_pieces, plain_row, write_least
    from hygro.decide.runner import cores

    study = opened(case, name, store, device, wall)
    folder = ready_folder(study, out, ENDINGS)
    with patience("the same command") as tell, pool_of(cluster) as pool:
        found = find_least(
            study,
            within=within,
            check=check,
            processes=processes or cores(),
            pool=pool,
            progress=tell,
        )
    remember(study, "least", found, found.plan)
    written = write_least(found, folder, study.name, units.value)
    if as_json:
        print_json([plain_row(found, row) for row in found.rows])
    else:
        show(least_pieces(found_in(found, units.value)))
        write(f"written to {folder}: {', '.join(path.name for path in written)}\n")
    end_by_gaps([row.error for row in found.rows], "combination")
