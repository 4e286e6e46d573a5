"""What a comparison leaves in a folder: JSON, CSV and figures. Owns names and columns."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from pathlib import Path

from hygro.atomic import write_text
from hygro.kinds import Kind, named, refuse_other
from hygro.study.compare import Compared
from hygro.study.plain_results import to_json
from hygro.study.plan import file_names
from hygro.study.runs import Failure, Outcome
from hygro.units import System, count

SECTION = "section-"
"""What the names of figures of sections begin with."""
_HEAD = (
    "wall", "scenario", "place", "room", "azimuth", "years", "start", "outcome", "passed",
    "margin", "U", "outboard_share", "least_share", "bears_winter_rh", "bears_rain_share",
    "least_outboard_R", "case",
)  # fmt: skip
_COLUMNS = (
    "mc_30d_max",
    "mc_30d_skin_max",
    "mc_24h_max",
    "hours_mc_above_20",
    "hours_mc_above_28",
    "mould_index_max",
    "mould_surface",
    "rh_30d_max",
    "rh_surface",
    "condensate_formed",
    "condensation_hours",
    "dew_point_hours",
    "water_change_per_year",
    "rain_incident",
    "leak_rain",
    "leak_air",
    "drained",
    "leak_vapour",
)
"""Numbers of `hygro.assess.SUMMARY` that stand in the CSV, in its units."""


def refuse_others(folder: Path, case: str, walls: Sequence[str]) -> None:
    """Refuse to leave a comparison where there is another: told before the first run.

    Raises
    ------
    InputError
        There is the comparison of another case, or a file of another kind.
    """
    from hygro.show.drawn import FIGURE

    data, table, figure = _first(folder)
    for path in (data, table):
        refuse_other(path, _kind(case))
    for path in (figure, folder / "reserve.png", *_sections(folder, walls).values()):
        refuse_other(path, FIGURE)


def _kind(case: str) -> Kind:
    """Return the kind of the tables."""
    return named(
        "a comparison of case '{case}'", {".json": "[", ".csv": ",".join(_HEAD)}, case=case
    )


def _first(folder: Path) -> tuple[Path, Path, Path]:
    return folder / "comparison.json", folder / "comparison.csv", folder / "comparison.png"


def told_of(written: Sequence[Path]) -> str:
    """Say which files `write_comparison` wrote: by their names, the sections by their number."""
    sections = [path for path in written if path.name.startswith(SECTION)]
    names = [path.name for path in written if path not in sections]
    counted = [f"{count(len(sections), 'section')} ({SECTION}*.png)"] if sections else []
    return ", ".join([*names, *counted])


def _sections(folder: Path, walls: Sequence[str]) -> dict[str, Path]:
    """Return the figure of the section of each wall."""
    return {name: folder / f"{SECTION}{stem}.png" for name, stem in file_names(walls).items()}


def write_comparison(
    compared: Sequence[Compared],
    failed: Sequence[Failure],
    folder: Path,
    *,
    title: str,
    order: Sequence[str],
    system: System,
) -> tuple[Path, ...]:
    """Write the tables and figures of a comparison and return their paths; table and JSON first.

    `title` is the name of its case.

    Raises
    ------
    InputError
        A file cannot be written, or another is there.
    """
    # drawing takes long to load, and is not always wanted
    from hygro.show import figures
    from hygro.show.drawn import write
    from hygro.show.section import wall_section

    data, table, figure = _first(folder)
    kind = _kind(title)
    write_text(data, to_json(compared, failed) + "\n", kind)
    write_text(table, csv_text(compared), kind)
    if not compared:
        return table, data  # nothing ran, nothing is drawn
    write(figures.comparison(compared, title=title, order=order), figure)
    sections, paths = _reserves(compared, folder, title, system), _sections(folder, order)
    for item in compared:
        path = paths[item.name]
        write(wall_section(item.tight.run.wall, system=system), path)
        sections.append(path)
    return (table, data, figure, *sections)


def _reserves(compared: Sequence[Compared], folder: Path, title: str, system: System) -> list[Path]:
    """Write the figure of reserves where all of them were searched whole."""
    from hygro.show.borne import reserves_of
    from hygro.show.drawn import write

    drawn = reserves_of(compared, title=title, system=system)
    if drawn is None:
        return []
    write(drawn, folder / "reserve.png")
    return [folder / "reserve.png"]


def csv_text(compared: Sequence[Compared]) -> str:
    """Return a line for each run in SI units; an empty cell where nothing was rated."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow((*_HEAD, *_COLUMNS))
    for item in compared:
        for outcome in item.outcomes:
            writer.writerow(_row(item, outcome))
    return text.getvalue()


def _row(item: Compared, outcome: Outcome) -> list[object]:
    worst = outcome.verdict.worst
    hand = outcome.hand
    numbers = [outcome.numbers.get(key) for key in _COLUMNS]
    head = [
        item.name,
        outcome.run.scenario if item.leaky else "none set",
        outcome.run.place,
        outcome.run.room_name,
        outcome.run.wall.azimuth,
        outcome.years,
        str(outcome.trace.day[0]),
        outcome.verdict.outcome,
        {True: "yes", False: "no", None: ""}[outcome.verdict.passed],
        None if worst is None else worst.margin,
        hand.U,
        hand.outboard_share,
        hand.least_share,
        *_borne(item),
        outcome.run.provenance.get("case", ""),
    ]
    return ["" if value is None else _short(value) for value in (*head, *numbers)]


def _borne(item: Compared) -> list[float | None]:
    """What a wall bears; None where it was not asked, or nothing tried is."""
    if item.reserve is None:
        return [None] * 3
    return [None if bound is None else bound.value for bound in item.reserve.bounds.values()]


def _short(value: object) -> object:
    return f"{value:.6g}" if isinstance(value, float) else value
