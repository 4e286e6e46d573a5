"""One axis of what a study found, as it is drawn and told. Owns its words; runs nothing."""

from __future__ import annotations

from typing import NamedTuple

from hygro.decide.dimension import Dimension, full_unit, labelled, told
from hygro.quantities import BEFORE
from hygro.study.varied import AnyDistribution
from hygro.types import Plain


class Axis(NamedTuple):
    """What varies, without the wall that it varies in.

    Attributes
    ----------
    name, says : str
        As the study names it, and in words.
    unit : str
        In which its values stand; SI where empty.
    quantity : str
        A kind of `hygro.quantities.QUANTITIES`, or empty.
    low, high : float or None
        Ends of a range of numbers.
    source, what : str
        Of a distribution: where it is from, and which.
    """

    name: str
    says: str
    unit: str
    quantity: str
    low: float | None
    high: float | None
    source: str = ""
    what: str = ""

    @property
    def ends(self) -> tuple[float, float]:
        """Both ends of a range of numbers."""
        assert self.low is not None
        assert self.high is not None
        return self.low, self.high

    @property
    def full_unit(self) -> str:
        """The unit of its values, that of SI where none was written; empty where nobody knows."""
        return full_unit(self.unit, self.quantity)

    def said(self, value: Plain) -> str:
        """A value with its unit; a word by itself."""
        return told(value, self.unit, self.quantity)

    def said_from(self, low: float, high: float) -> str:
        """Two values with their unit."""
        first = self.said(low) if self.full_unit in BEFORE else f"{low:.4g}"
        return f"{first} to {self.said(high)}"

    def label(self) -> str:
        """Name and unit, for an axis or the head of a column."""
        return labelled(self.says, self.unit, self.quantity)


def axis_of(d: Dimension) -> Axis:
    """Return what is told of a dimension of a study."""
    numbers = bool(d.values) and all(isinstance(v, int | float) for v in d.values)
    low, high = (float(d.values[0]), float(d.values[-1])) if numbers else (None, None)
    what = "" if d.distribution is None else _what(d.distribution)
    return Axis(d.name, d.says, d.unit, d.quantity, low, high, d.source, what)


def _what(how: AnyDistribution) -> str:
    """A distribution in words: its kind and numbers."""
    numbers = {k: v for k, v in vars(how).items() if k not in ("kind", "source", "at")}
    told = (f"{key} {_written(value)}" for key, value in numbers.items() if value is not None)
    return f"{how.kind}: {', '.join(told)}"


def _written(value: Plain) -> str:
    if isinstance(value, tuple):
        return f"{', '.join(map(_written, value[:12]))}{', …' if len(value) > 12 else ''}"
    return f"{value:.4g}" if isinstance(value, float) else str(value)
