"""What a limit leaves: figure, CSV, JSON. Owns names and columns."""

from __future__ import annotations

from pathlib import Path

from hygro.decide.engine import engine_name
from hygro.decide.files import title_of, write_three
from hygro.decide.in_units import found_in
from hygro.decide.limit import LimitResult
from hygro.decide.map import plain_row
from hygro.types import Data
from hygro.units import System


def write_limit(
    found: LimitResult, folder: Path, name: str, system: System = "si"
) -> tuple[Path, ...]:
    """Write a limit and return the paths; raises `InputError` where a file cannot be written."""
    from hygro.decide.limit_figure import figure

    drawn = figure(found_in(found, system), title=title_of(found.plan))
    rows = [plain_row(result) for result in found.results]
    return write_three(folder, name, drawn, rows, plain_limit(found))


def limit_lines(found: LimitResult, path: str, system: System = "si") -> list[str]:
    """Say a limit in words; `path` as it was asked for."""
    told = found_in(found, system)
    return told.limit.at(found.plan.base.wall.name, path, told.along.full_unit).lines()


def plain_limit(found: LimitResult) -> Data:
    """Plain values of a limit for JSON."""
    return {
        "case": found.plan.base.name,
        "wall": found.plan.base.wall.name,
        "path": found.along.name,
        "unit": found.along.full_unit,
        "own": found.own,
        **found.limit.to_dict(),
        "engine": engine_name(),
        "plan_sha256": found.plan.sha256,
        "caution": "comparative design aid, no proof of compliance",
    }
