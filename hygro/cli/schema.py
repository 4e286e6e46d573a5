"""`hygro schema`: the JSON schema of the case file."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from hygro.cli.options import JsonOption
from hygro.terminal import write


def schema(
    out: Annotated[Path | None, typer.Option("--out", help="File to write it to.")] = None,
    as_json: JsonOption = False,  # noqa: ARG001 - it always is; scripts may say so
) -> None:
    """Print the JSON schema of the case file."""
    from hygro.atomic import write_text
    from hygro.case.publish import TITLE, schema_text
    from hygro.kinds import marked

    if out is None:
        write(schema_text())
    else:
        write_text(out, schema_text(), marked("a schema of this program", TITLE))
