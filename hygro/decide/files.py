"""What studies leave alike: a JSON, what stands beside it, and what that may replace. Owns how."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from hygro.atomic import writable_folder, write_text
from hygro.decide.plan import Plan
from hygro.kinds import Kind, named, refuse_other
from hygro.show.drawn import FIGURE, write
from hygro.types import Data

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from hygro.decide.study import Study

THREE = (".png", ".csv", ".json")
"""Endings of what a map, a sample, ranked years and a limit leave."""


def title_of(plan: Plan) -> str:
    """Project and wall, as a figure is headed."""
    return f"{plan.base.name}: {plan.base.wall.name}"


def kind_of(case: str, wall: str) -> Kind:
    """Return the kind of the tables that tell what was found of a wall of a case."""
    words = "what was found of wall '{wall}' of case '{case}'"
    return named(words, {".json": '{\n  "case": ', ".csv": "case,wall,"}, case=case, wall=wall)


def ready_folder(study: Study, folder: Path, endings: Sequence[str] = THREE) -> Path:
    """Return the folder for what a study finds, before the first run.

    Raises
    ------
    InputError
        It cannot be made or written, or has other files of these names.
    """
    kind = kind_of(study.base.name, study.base.wall.name)
    for end in endings:
        refuse_other(folder / f"{study.name}{end}", FIGURE if end == ".png" else kind)
    return writable_folder(folder)


def write_three(
    folder: Path, name: str, figure: Figure, rows: list[Data], plain: Data
) -> tuple[Path, ...]:
    """Write NAME.png, .csv and .json; raises `InputError` where a file cannot be written."""
    drawn, listed, told = files = tuple(folder / f"{name}{end}" for end in THREE)
    write_plain(told, plain)
    write_table(listed, rows, plain)
    write(figure, drawn)
    return files


def write_plain(path: Path, plain: Data) -> None:
    """Write JSON that begins with case and wall."""
    text = json.dumps(plain, indent=2, ensure_ascii=False)
    write_text(path, text, kind_of(plain["case"], plain["wall"]))


def write_table(path: Path, rows: list[Data], plain: Data) -> None:
    """Write rows as CSV, case and wall first in each; an empty cell where there is no value."""
    of = {key: plain[key] for key in ("case", "wall")}
    write_text(path, _table([{**of, **row} for row in rows]), kind_of(**of))


def _table(rows: list[Data]) -> str:
    text = io.StringIO()
    writer = csv.DictWriter(text, list(rows[0]), lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return text.getvalue()
