"""The results of a study as a table on the terminal. Owns its columns."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from typing import TYPE_CHECKING

from rich.console import RenderableType
from rich.table import Table

from hygro.assess.verdict import margin_words
from hygro.decide.point import PointResult
from hygro.types import Plain
from hygro.units import count

if TYPE_CHECKING:
    from hygro.decide.study import Study

MOST = 40
"""Points that a table lists. [1]"""


def study_pieces(study: Study, results: Sequence[PointResult]) -> list[RenderableType]:
    """Return the pieces that say how a study ended: the classes, and the points one by one."""
    counts = Counter(result.outcome for result in results)
    head = f"{study.name}, wall '{study.base.wall.name}': " + ", ".join(
        f"{n} {word}" for word, n in counts.most_common()
    )
    pieces: list[RenderableType] = [head, _table(study, results[:MOST])]
    if len(results) > MOST:
        more = count(len(results) - MOST, "point")
        pieces.append(f"and {more} more: hygro study export writes all")
    reasons = dict.fromkeys(result.error for result in results if result.error)
    pieces += [f"not computed: {reason[:200]}" for reason in list(reasons)[:5]]
    return pieces


def _table(study: Study, results: Sequence[PointResult]) -> Table:
    table = Table(box=None, pad_edge=False)
    for d in study.plan.dimensions:
        table.add_column(d.label(), justify="right")
    for name in ("verdict", "reserve", "decided by"):
        table.add_column(name)
    for result in results:
        by = f"{result.decides} ({result.scenario})" if result.decides else ""
        margin = None if math.isnan(result.margin) else result.margin
        table.add_row(
            *(shown(value) for value in result.at.values()),
            result.outcome,
            margin_words(margin),
            by,
        )
    return table


def shown(value: Plain) -> str:
    """Write a value of a dimension."""
    return f"{value:.4g}" if isinstance(value, int | float) else str(value)
