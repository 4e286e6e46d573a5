"""Options that several commands share, and how JSON is printed. Owns their words."""

from __future__ import annotations

import json
from enum import StrEnum
from typing import Annotated

import typer

from hygro.terminal import write


class Device(StrEnum):
    """What marches the walls."""

    cpu = "cpu"
    gpu = "gpu"


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
DeviceOption = Annotated[
    Device, typer.Option("--device", help="What marches: cpu, or gpu, an NVIDIA card (hygro[gpu]).")
]
StrictOption = Annotated[
    bool, typer.Option("--strict", help="Exit code 1 unless every wall is within its limits.")
]
WallOption = Annotated[str | None, typer.Option("--wall", help="Name of the wall.")]


def print_json(value: object) -> None:
    """Print plain values as JSON."""
    write(json.dumps(value, indent=2, ensure_ascii=False, default=str) + "\n")
