"""`hygro plot`: one figure of a result, of several, of a weather file, or of materials."""

from __future__ import annotations

from collections.abc import Callable
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from hygro.cli.options import Units, UnitsOption
from hygro.terminal import write

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from hygro.units import System

FORMATS = (".png", ".svg", ".pdf")


class Kind(StrEnum):
    """What is drawn."""

    series = "series"
    depth = "depth"
    months = "months"
    envelope = "envelope"
    reserve = "reserve"
    metal = "metal"
    transmittance = "transmittance"
    section = "section"
    weather = "weather"
    materials = "materials"


def plot(
    kind: Annotated[
        Kind,
        typer.Argument(
            help="series: the face that decides over time; depth: depth–time maps; months: water "
            "by month; envelope: least, mean, most across the section; reserve: distance to the "
            "limits; metal: temperature and humidity at screws and girts; transmittance: U with "
            "studs, metal and joints; section: the wall to scale; weather: of a file or case; "
            "materials: curves."
        ),
    ],
    sources: Annotated[
        list[str],
        typer.Argument(
            help="Result file (.nc); for reserve several or a folder; for transmittance a case "
            "and walls of it; weather file; keys."
        ),
    ],
    out: Annotated[Path | None, typer.Option("--out", help="File: .png, .svg or .pdf.")] = None,
    curve: Annotated[
        str, typer.Option("--curve", help="materials: storage, vapour, sheets or thermal.")
    ] = "storage",
    units: UnitsOption = Units.si,
) -> None:
    """Draw one figure and write it to a file."""
    from hygro.atomic import check_target
    from hygro.errors import InputError
    from hygro.show.drawn import FIGURE
    from hygro.show.drawn import write as write_figure

    path = out or Path(f"{kind.value}.png")
    if path.suffix not in FORMATS:
        raise InputError(f"{path}: a figure ends in {', '.join(FORMATS)}")
    check_target(path, FIGURE, made=False)
    write_figure(_drawn(kind, sources, curve, units.value), path)
    write(f"written: {path}\n")


def _drawn(kind: Kind, sources: list[str], curve: str, system: System) -> Figure:
    if kind is Kind.weather:
        from hygro.cli.weather import weather_of
        from hygro.show.weather_year import weather_year

        return weather_year(weather_of(_one(kind, sources)), system=system)
    if kind is Kind.materials:
        return _curves(sources, curve, system)
    if kind is Kind.reserve:
        return _reserves(sources)
    if kind is Kind.transmittance:
        return _transmittance(sources, system)
    from hygro.case import judge_stored
    from hygro.record import load
    from hygro.show import of_record

    ds = load(_one(kind, sources))
    if kind is Kind.section:
        return of_record.section(ds, system=system)
    if kind is Kind.series:  # per cent and an index alone
        return of_record.time_series(ds, judged=judge_stored(ds))
    if kind is Kind.metal:
        return of_record.metal(ds, judged=judge_stored(ds))
    draw: dict[Kind, Callable[..., Figure]] = {
        Kind.depth: of_record.depth_map,
        Kind.months: of_record.months,
        Kind.envelope: of_record.envelope,
    }
    return draw[kind](ds, judged=judge_stored(ds), system=system)


def _one(kind: Kind, sources: list[str]) -> str:
    from hygro.errors import InputError

    if len(sources) != 1:
        raise InputError(f"plot {kind.value}: takes one file; given {len(sources)}")
    return sources[0]


def _transmittance(sources: list[str], system: System) -> Figure:
    """The walls of a case, all of them or those named after it."""
    from hygro.case import load
    from hygro.show.title_block import TitleBlock
    from hygro.show.transmittance import Bar, transmittance
    from hygro.wall.attachments import u_values

    name, *chosen = sources
    case = load(name)
    walls = [case.wall(x).wall for x in chosen] or [item.wall for item in case.walls]
    found = [(wall.name, u_values(wall)) for wall in walls]
    block = TitleBlock(case.name, "U by hand: with studs, metal and joints beside clear", "")
    bars = [Bar(label, u.clear, u.effective) for label, u in found]
    return transmittance(bars, block=block, system=system)


def _curves(keys: list[str], curve: str, system: System) -> Figure:
    from hygro.errors import InputError, near_matches
    from hygro.material.library import get_material
    from hygro.show.curves import KINDS, curves

    if curve not in KINDS:
        raise InputError(f"--curve {curve}: unknown; {near_matches(curve, KINDS)}")
    figure = curves([get_material(key) for key in keys], curve, system=system)
    if figure is None:
        raise InputError(f"plot materials: none of {', '.join(keys)} has a curve '{curve}'")
    return figure


def _reserves(sources: list[str]) -> Figure:
    """Every wall and scenario of some results; of a single result each of its criteria."""
    from hygro.assess.verdict import reserve_words
    from hygro.case import judge_stored
    from hygro.cli.report import record_files
    from hygro.errors import InputError
    from hygro.page.gather import gather
    from hygro.record import load
    from hygro.show import of_record, words
    from hygro.show.reserves import Bar, reserves
    from hygro.show.title_block import TitleBlock

    files = record_files(sources)
    if files is None:
        raise InputError("plot reserve: takes result files (.nc) or their folder")
    if len(files) == 1:
        ds = load(files[0])
        return of_record.reserve(ds, judged=judge_stored(ds))
    walls = gather(files).walls
    bars = [
        Bar(f"{item.name}, {outcome.run.scenario}", outcome.verdict.reserve, outcome.verdict.passed,
            reserve_words(outcome.verdict))
        for item in walls
        for outcome in item.outcomes
    ]  # fmt: skip
    told = words.circumstances([outcome for item in walls for outcome in item.outcomes])
    block = TitleBlock("Reserve of each wall and scenario", told, "best wall first")
    return reserves(bars, block=block)
