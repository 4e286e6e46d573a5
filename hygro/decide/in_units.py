"""What was found, with its axes in the units of a family. Owns which values are converted.

An axis stands in the unit in which its range is written; with inch-pound units asked for, what is
written in SI is converted, and sentences with it (`hygro.show.converted`).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TypeVar

import numpy as np

from hygro.decide.axis import Axis
from hygro.decide.beside import Beside
from hygro.decide.finding import Found, StudyPoints
from hygro.decide.least import LeastValues
from hygro.decide.limit import Limited
from hygro.decide.map import Mapped
from hygro.decide.point import PointResult
from hygro.quantities import QUANTITIES
from hygro.show.converted import converted
from hygro.study.limit import Limit
from hygro.study.trials import Trial
from hygro.types import Data, Plain
from hygro.units import System, convert, is_ip, parse

F = TypeVar("F", bound=Found)


class _Change:
    """An axis in inch-pound units, and its values."""

    def __init__(self, axis: Axis) -> None:
        kind = QUANTITIES.get(axis.quantity)
        self._from, self._kind = axis.unit, axis.quantity
        self._to = kind.shown["ip"][0] if kind is not None and _converts(axis) else ""
        self.name = axis.name
        low, high = self(axis.low), self(axis.high)
        self.axis = axis._replace(unit=self._to or axis.unit, low=low, high=high)

    def __call__(self, value: Plain) -> Plain:
        if not self._to or not isinstance(value, int | float):
            return value
        return convert(parse(f"{value!r} {self._from}", self._kind), self._kind, self._to)


def _converts(axis: Axis) -> bool:
    """Whether it is written in SI, of a quantity that the families write in units of their own."""
    own = {shown[0] for shown in QUANTITIES[axis.quantity].shown.values()}
    # s_d goes the other way than permeance, so that an axis of it would be no straight one
    return len(own) > 1 and not is_ip(axis.unit) and axis.unit != "m sd"


def found_in(found: F, system: System) -> F:
    """Return what was found, its axes and the values on them in the units of a family."""
    if system == "si":
        return found
    if isinstance(found, Mapped):
        x, y = _Change(found.x), _Change(found.y)
        lines = [_line(line, x, y) for line in found.lines]
        results = _results(found.results, (x, y))
        return replace(found, x=x.axis, y=y.axis, lines=lines, results=results)
    if isinstance(found, Limited):
        to = _Change(found.along)
        trials = tuple(_trial(trial, to) for trial in found.limit.trials)
        return replace(
            found, along=to.axis, own=to(found.own), limit=Limit(trials),
            results=_results(found.results, (to,)),
        )  # fmt: skip
    if isinstance(found, LeastValues):
        return replace(found, **_least(found))
    if isinstance(found, StudyPoints):
        changes = [_Change(axis) for axis in found.axes]
        axes = tuple(change.axis for change in changes)
        return replace(found, axes=axes, results=_results(found.results, changes))
    return found


def beside_in(next_to: Beside, found: Mapped, system: System) -> Beside:
    """Return what stands beside a map in the units of a family; `found` as it was computed."""
    if system == "si":
        return next_to
    x, y = _Change(found.x), _Change(found.y)
    own = None if next_to.own is None else (x(next_to.own[0]), y(next_to.own[1]))
    return next_to._replace(
        own=own,
        dew_lines=[_line(line, x, y) for line in next_to.dew_lines],
        code=(y if next_to.code_on == "y" else x)(next_to.code),
        code_words=converted(next_to.code_words, "ip"),
    )


def _line(line: np.ndarray, x: _Change, y: _Change) -> np.ndarray:
    return np.array([(x(float(a)), y(float(b))) for a, b in line])


def _results(results: Sequence[PointResult], changes: Sequence[_Change]) -> list[PointResult]:
    by_name: dict[str, Callable[[Plain], Plain]] = {change.name: change for change in changes}
    return [
        result._replace(
            at={name: by_name.get(name, lambda x: x)(value) for name, value in result.at.items()}
        )
        for result in results
    ]


def _trial(trial: Trial, to: _Change) -> Trial:
    reasons = tuple(converted(reason, "ip") for reason in trial.reasons)
    return trial._replace(value=to(trial.value), reasons=reasons)


def _least(found: LeastValues) -> Data:
    to = _Change(found.along)
    others = [_Change(axis) for axis in found.others]
    zero = to(0.0)
    rows = tuple(
        row._replace(
            at={change.name: change(row.at[change.name]) for change in others},
            value=to(row.value),
            fails=to(row.fails),
            uncertainty=None if row.uncertainty is None else to(row.uncertainty) - zero,
        )
        for row in found.rows
    )
    within = to(found.within) - zero
    axes = tuple(change.axis for change in others)
    return {"along": to.axis, "others": axes, "rows": rows, "within": within}
