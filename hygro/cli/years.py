"""`hygro years`: every year of a long weather, ranked by the wall itself."""

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


def years(
    case: CaseArgument,
    wall: WallOption = None,
    typical: Annotated[
        str | None, typer.Option("--typical", help="Weather file of a typical year to compare.")
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
    """Rank the years of a case's weather by what each does to a wall.

    Several files, or generated years. Each year is run twice from the start month of the case and
    its second round is judged for service; median, one in ten and worst year are told, with what
    ASHRAE 160 and EN 15026 ask.
    """
    from hygro.case import load
    from hygro.decide.asked import years_study
    from hygro.decide.cluster import pool_of
    from hygro.decide.files import ready_folder
    from hygro.decide.finding import remember
    from hygro.decide.runner import cores
    from hygro.decide.years import make_years
    from hygro.decide.years_files import plain_years, write_years, years_pieces

    study = years_study(load(case), wall=wall, store=store, folder=out, device=device)
    folder = ready_folder(study, out)
    with patience("the same command") as tell, pool_of(cluster) as pool:
        found = make_years(
            study, typical=typical, processes=processes or cores(), pool=pool, progress=tell
        )
    remember(study, "years", found, found.plan)
    written = write_years(found, folder, study.name)
    if as_json:
        print_json(plain_years(found))
    else:
        show(years_pieces(found, units.value))
        write(f"written to {folder}: {', '.join(path.name for path in written)}\n")
    end_by_gaps(found.errors, "year")
