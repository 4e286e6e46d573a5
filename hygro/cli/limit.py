"""`hygro limit`: how far one number of a case may go."""

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
from hygro.cli.study import ClusterOption, StoreOption
from hygro.terminal import show, write


def limit(
    case: CaseArgument,
    path: Annotated[
        str, typer.Argument(help="Number to vary: 'wall.\"name\".leaks.rain.fraction'.")
    ],
    low: Annotated[str, typer.Option("--low", help="Lowest value tried, with its unit: '20 mm'.")],
    high: Annotated[str, typer.Option("--high", help="Highest value tried, in the same unit.")],
    wall: WallOption = None,
    within: Annotated[
        str | None, typer.Option("--within", help="Width at which an edge counts as found.")
    ] = None,
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
    """Find the range of one number of a case in which a wall stays within its limits.

    Judged as `compare` judges: tight and with the leaks one by one, and all must pass. Eight
    values over the whole range first, then halving where the verdict turns. A plain number is in
    SI. Figure (.png), table (.csv) and .json go to --out.
    """
    from hygro.case import load
    from hygro.decide.asked import limit_study
    from hygro.decide.cluster import pool_of
    from hygro.decide.files import ready_folder
    from hygro.decide.finding import remember
    from hygro.decide.limit import find_limit
    from hygro.decide.limit_files import limit_lines, plain_limit, write_limit
    from hygro.units import same_unit

    texts = [low, high] if within is None else [low, high, within]
    (_, _, *width), _ = same_unit(texts)
    study = limit_study(
        load(case), path, low, high, wall=wall, store=store, folder=out, device=device
    )
    folder = ready_folder(study, out)
    with patience("the same command") as tell, pool_of(cluster) as pool:
        found = find_limit(
            study,
            within=width[0] if width else None,
            processes=processes,
            pool=pool,
            progress=tell,
        )
    remember(study, "limit", found, found.plan)
    written = write_limit(found, folder, study.name, units.value)
    if as_json:
        print_json(plain_limit(found))
    else:
        show(limit_lines(found, path, units.value))
        write(f"written to {folder}: {', '.join(path.name for path in written)}\n")
    end_by_gaps([point.error for point in found.results], "point")
