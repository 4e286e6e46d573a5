"""What a map, a sample and ranked years leave alike: a figure, a CSV, a JSON. Owns how."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path
from typing import TYPE_CHECKING

from hygro.atomic import replacing, write_text
from hygro.decide.plan import Plan
from hygro.types import Data

if TYPE_CHECKING:
    from matplotlib.figure import Figure


def title_of(plan: Plan) -> str:
    """Project and wall, as a figure is headed."""
    return f"{plan.base.name}: {plan.base.wall.name}"


def write_three(
    folder: Path, name: str, figure: Figure, rows: list[Data], plain: Data
) -> tuple[Path, ...]:
    """Write NAME.png, .csv and .json; raises `InputError` where a file cannot be written."""
    drawn, listed, told = files = tuple(
        folder / f"{name}{end}" for end in (".png", ".csv", ".json")
    )
    with replacing(drawn) as temporary:
        figure.savefig(temporary)
    write_text(listed, table(rows))
    write_text(told, json.dumps(plain, indent=2, ensure_ascii=False))
    return files


def table(rows: list[Data]) -> str:
    """Rows as CSV, an empty cell where there is no value."""
    text = io.StringIO()
    writer = csv.DictWriter(text, list(rows[0]), lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return text.getvalue()
