"""`hygro sample`: how sure a wall is, its numbers drawn from distributions."""

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
    WallOption,
    print_json,
)
from hygro.cli.patience import patience
from hygro.cli.running import end_by_gaps
from hygro.cli.study import ClusterOption, StoreOption
from hygro.terminal import show, write


def sample(
    case: CaseArgument,
    name: Annotated[
        str | None,
        typer.Argument(help="A study [study.NAME] of distributions; left out: the shipped ones."),
    ] = None,
    wall: WallOption = None,
    samples: Annotated[
        int | None, typer.Option("--samples", min=2, help="Draws; default 256, or as the study.")
    ] = None,
    within: Annotated[
        float | None,
        typer.Option("--within", help="Stop when the probability is known to ± this, 0.05."),
    ] = None,
    out: Annotated[Path, typer.Option("--out", help="Folder for figure and tables.")] = Path(
        "results"
    ),
    store: StoreOption = None,
    processes: ProcessesOption = None,
    cluster: ClusterOption = None,
    device: DeviceOption = Device.cpu,
    as_json: JsonOption = False,
) -> None:
    """Draw what is not known, run every draw, and say how often the wall fails and why.

    Without a study the shipped distributions are taken for materials, leaks, room, coefficients
    and years of the weather; each says its source or "our choice".
    """
    from hygro.case import load
    from hygro.decide.asked import sampled_study
    from hygro.decide.cluster import pool_of
    from hygro.decide.files import ready_folder
    from hygro.decide.finding import remember
    from hygro.decide.runner import cores
    from hygro.decide.sample import make_sample
    from hygro.decide.sample_files import plain_sample, sample_lines, write_sample

    study = sampled_study(
        load(case), name, wall=wall, samples=samples, store=store, folder=out, device=device
    )
    folder = ready_folder(study, out)
    with patience("the same command") as tell, pool_of(cluster) as pool:
        found = make_sample(
            study, within=within, processes=processes or cores(), pool=pool, progress=tell
        )
    remember(study, "sample", found, found.plan)
    written = write_sample(found, folder, study.name)
    if as_json:
        print_json(plain_sample(found))
    else:
        show(sample_lines(found))
        write(f"written to {folder}: {', '.join(path.name for path in written)}\n")
    end_by_gaps([point.error for point in found.results], "draw")
