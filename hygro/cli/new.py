"""`hygro new`: a commented case to start from."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from hygro.cli.options import JsonOption, print_json
from hygro.terminal import show, write


def new(
    name: Annotated[str | None, typer.Argument(help="Folder of the new case.")] = None,
    wall: Annotated[
        str | None, typer.Option("--wall", help="Family of the wall; without it they are listed.")
    ] = None,
    weather: Annotated[
        Path | None, typer.Option("--weather", help="Weather file; default: invented normals.")
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """Write a commented case of one wall that runs as it is; alone, list the families."""
    from hygro.case import families, start
    from hygro.errors import InputError
    from hygro.show.tables import plain

    if name is None and wall is None:
        known = families()
        if as_json:
            print_json(known)
        else:
            table = plain("Families of walls", ("--wall", "What it is"), known.items())
            table.columns[1].justify = "left"
            show([table])
        return
    if name is None or wall is None:
        raise InputError(
            f"a folder and a family are needed: hygro new NAME --wall {wall or 'FAMILY'}"
        )
    path = start(Path(name), wall, weather_file=weather)
    if as_json:
        print_json({"case": str(path)})
    else:
        write(f"written: {path}\nnext: hygro check {path}, then hygro compare {path}\n")
