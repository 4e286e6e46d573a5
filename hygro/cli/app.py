"""Wires the commands together. Owns their names and order, the version and the exit codes' text."""

from __future__ import annotations

from typing import Annotated

import typer

from hygro import __version__
from hygro.cli import (
    check,
    compare,
    least,
    limit,
    map,
    materials,
    new,
    plot,
    report,
    run,
    sample,
    schema,
    show,
    validate,
    weather,
    years,
)
from hygro.cli.errors import Group
from hygro.cli.study import study
from hygro.terminal import write

EXIT_CODES = (
    "Exit codes: 0 done; 1 with --strict, a wall is not within its limits (validate: a check "
    "fails); 2 bad input, or nothing could be computed; 3 done in part; 70 a fault of this "
    "program; 130 interrupted."
)

app = typer.Typer(
    cls=Group,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    help="Hourly heat and moisture simulation of layered walls.",
    epilog=EXIT_CODES,
)


def _version(wanted: bool) -> None:
    if wanted:
        write(f"hygro {__version__}\n")
        raise typer.Exit


@app.callback()
def _main(
    version: Annotated[
        bool,
        typer.Option("--version", callback=_version, is_eager=True, help="Print the version."),
    ] = False,
) -> None:
    pass


app.command()(new.new)
app.command()(run.run)
app.command()(compare.compare)
app.command()(check.check)
app.command()(limit.limit)
app.add_typer(study, name="study")
app.command()(map.map)
app.command()(least.least)
app.command()(sample.sample)
app.command()(years.years)
app.command()(show.show)
app.command()(report.report)
app.command()(plot.plot)
app.command()(weather.weather)
app.command()(materials.materials)
app.command()(validate.validate)
app.command()(schema.schema)
