"""`hygro weather`: what is in a weather file."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from hygro.cli.options import JsonOption, Units, UnitsOption, print_json
from hygro.terminal import show

if TYPE_CHECKING:
    import xarray as xr


def weather(
    file: Annotated[str, typer.Argument(help="Weather file, or a case for its climate.")],
    units: UnitsOption = Units.si,
    as_json: JsonOption = False,
) -> None:
    """Show what is in a weather file and what is missing, its zone, rain and driving rain."""
    from hygro.show import climate as shown
    from hygro.show import report

    found = weather_of(file)
    known = shown.facts(found)
    if as_json:
        print_json(known)
        return
    show(shown.lines(known, system=units.value))
    show([shown.variables(found, system=units.value)])
    if known["summary"] is not None:
        show([shown.months(known["summary"], system=units.value)])
        if known["summary"]["driving_rain"] is not None:
            show([shown.driving_rain(known["summary"], system=units.value)])
    show(f"note: {line}" for line in known["history"])
    show(report.cautions(found.attrs, ()))


def weather_of(file: str) -> xr.Dataset:
    """Weather of a file, or of a case by its file or name."""
    from hygro.case import built_in, climate, load
    from weather import read

    if file in built_in() or Path(file).suffix == ".toml":
        return climate(load(file))
    return read(file)
