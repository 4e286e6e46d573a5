"""What a map leaves: figure, CSV, JSON, and a few lines. Owns names and columns."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

from hygro.decide.beside import Beside
from hygro.decide.engine import engine_name
from hygro.decide.files import title_of, write_three
from hygro.decide.in_units import beside_in, found_in
from hygro.decide.map import Mapped, MapResult
from hygro.types import Data
from hygro.units import System, count


def write_map(
    found: MapResult, next_to: Beside, folder: Path, name: str, system: System = "si"
) -> tuple[Path, ...]:
    """Write a map and return the paths; raises `InputError` where a file cannot be written."""
    from hygro.decide.map_figure import figure

    told = found_in(found, system), beside_in(next_to, found, system)
    drawn = figure(*told, title=title_of(found.plan), system=system)
    return write_three(folder, name, drawn, found.rows(), plain_map(found, next_to))


def plain_map(found: MapResult, next_to: Beside) -> Data:
    """Plain values of a map for JSON."""
    return {
        "case": found.plan.base.name,
        "wall": found.plan.base.wall.name,
        "x": {"name": found.x.name, "unit": found.x.full_unit},
        "y": {"name": found.y.name, "unit": found.y.full_unit},
        "full": found.full,
        "open": found.open,
        "not_computed": sum(bool(r.error) for r in found.results),
        "boundary": [line.tolist() for line in found.lines],
        "dew_point": [line.tolist() for line in next_to.dew_lines],
        "code": {"value": next_to.code, "axis": next_to.code_on, "words": next_to.code_words},
        "own": next_to.own,
        "points": found.rows(),
        "engine": engine_name(),
        "plan_sha256": found.plan.sha256,
        "caution": "comparative design aid, no proof of compliance",
    }


def map_lines(asked: MapResult, next_to: Beside, system: System = "si") -> list[str]:
    """Say a map in a few lines."""
    found, next_to = found_in(asked, system), beside_in(next_to, asked, system)
    wall = found.plan.base.wall.name
    head = f"{wall}: {found.x.label()} by {found.y.label()}, {counted(found)}"
    errors = dict.fromkeys(r.error for r in found.results if r.error)
    wrong = [f"not computed: {error[:200]}" for error in list(errors)[:3]]
    return [head, *answers(found, next_to), *wrong]


def counted(found: Mapped) -> str:
    """Say how many points there are, and how many of them pass."""
    passed = sum(result.passed is True for result in found.results)
    return f"{count(len(found.results), 'point')}, {passed} within limits"


def answers(found: Mapped, next_to: Beside) -> list[str]:
    """Say what decides, and where the wall just passes."""
    wrong = Counter(r.decides for r in found.results if r.passed is False)
    lines = [f"  beyond by {word}: {count(n, 'point')}" for word, n in wrong.most_common(6)]
    failed = sum(bool(r.error) for r in found.results)
    if failed == len(found.results):
        lines.append("no point could be computed")
    elif failed:
        computed = len(found.results) - failed
        alike = "" if found.lines else f"; the verdict is the same at all {computed} that were"
        lines.append(f"{count(failed, 'point')} could not be computed{alike}")
    elif not found.lines:
        lines.append("the verdict is the same everywhere in these ranges")
    for line in found.lines:
        ends = [f"{found.x.said(x)} at {found.y.said(y)}" for x, y in (line[0], line[-1])]
        lines.append(f"just passes from {found.x.says} {ends[0]} to {ends[1]}")
    if found.open:
        lines.append(f"{found.open} places on the line are known less well than to 1 %")
    if next_to.own is not None:
        x, y = next_to.own
        own = f"{found.x.said(x)}, {found.y.said(y)}"
        lines.append(f"as written: {own}")
    return [*lines, next_to.code_words]
