"""One dimension of a study: a slot with the values it takes, or the distribution they come from.

Owns the step from what was written to settled values, and the refusal of what leaves the bounds.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from hygro.decide.base import Base
from hygro.decide.slot import Slot
from hygro.decide.slots import says, slot
from hygro.errors import InputError
from hygro.quantities import QUANTITIES
from hygro.study import varied
from hygro.study.varied import AnyDistribution, Range, Values, Varied
from hygro.types import Plain
from hygro.units import pretty, same_unit, with_unit

Array = NDArray[np.float64]
RARE = 1e-9
"""Share of an untruncated distribution that may lie outside of the bounds of its quantity. [1]"""


@dataclass(frozen=True)
class Dimension:
    """What varies along one axis of a study.

    Attributes
    ----------
    slot : Slot
        Where the values go.
    unit : str
        In which they were written; SI where empty.
    values : tuple
        In that unit, in the order of the axis; empty for a distribution.
    distribution : Distribution or None
        From which values are drawn.
    source : str
        Where the distribution is from.
    """

    slot: Slot
    unit: str
    values: tuple[Plain, ...]
    distribution: AnyDistribution | None
    source: str
    says: str

    @property
    def name(self) -> str:
        """As the study names it."""
        return self.slot.name

    def written(self, value: Plain) -> Plain:
        """A value with its unit, as people write it."""
        return f"{value!r} {self.unit}" if self.unit and isinstance(value, int | float) else value

    def settled(self, value: Plain) -> Plain:
        """What a value in the unit of the axis settles; raises `InputError` out of bounds."""
        return self.slot.read(self.written(value))

    def at(self, shares: Array) -> Array:
        """Values of the distribution below which these shares of it lie, in the unit. [unit]"""
        assert self.distribution is not None
        return _quantile(self.distribution, shares)

    def told(self, value: Plain) -> str:
        """A value with its unit, as people read it."""
        return told(value, self.unit, self.quantity)

    @property
    def quantity(self) -> str:
        """A kind of `QUANTITIES`; empty where its values are words or bare numbers."""
        words = any(isinstance(value, str) for value in self.values)
        return "" if words else self.slot.quantity

    def label(self) -> str:
        """Name and unit, for an axis."""
        return labelled(self.says, self.unit, self.quantity)


def told(value: Plain, unit: str, quantity: str) -> str:
    """A value with its unit, as people read it; a word by itself."""
    if not isinstance(value, int | float):
        return str(value)
    return with_unit(f"{value:.4g}", full_unit(unit, quantity))


def full_unit(unit: str, quantity: str) -> str:
    """The unit of a number, that of SI where none was written; empty where nobody knows it."""
    return unit or (QUANTITIES[quantity].si if quantity else "")


def printed_unit(unit: str, quantity: str) -> str:
    """A unit as it is printed by itself; empty for a bare number."""
    known = full_unit(unit, quantity)
    return "" if known == "1" else pretty(known)


def labelled(says: str, unit: str, quantity: str) -> str:
    """Words and unit, for an axis or the head of a column."""
    printed = printed_unit(unit, quantity)
    return f"{says}, {printed}" if printed else says


def dimension(name: str, how: Varied, base: Base) -> Dimension:
    """Return a dimension of a study, every value of it checked.

    Raises
    ------
    InputError
        The name leads nowhere, a value is out of its bounds, or a distribution leaves them.
    """
    place = slot(name, base, how.at)
    words = says(name)
    if isinstance(how, Values):
        values, unit = _numbers(how.values)
        found = Dimension(place, unit, tuple(values), None, "", words)
        _checked(found, found.values)
        return found
    if isinstance(how, Range):
        return _of_range(place, how, words)
    (*_, unit), source = _parts(how), how.source
    found = Dimension(place, unit, (), _bare(how), source, words)
    _check_distribution(found, how)
    return found


def _numbers(values: Sequence[Plain]) -> tuple[list[Plain], str]:
    """Numbers and their one unit; names and texts of another kind stay as they are."""
    if all(isinstance(v, str) for v in values):
        try:
            return same_unit([str(v) for v in values])
        except InputError:
            return list(values), ""
    if any(isinstance(v, str) for v in values):
        return same_unit([str(v) for v in values])
    return list(values), ""


def _of_range(place: Slot, how: Range, says: str) -> Dimension:
    (low, high), unit = same_unit([str(how.low), str(how.high)])
    if not low < high:
        raise InputError(f"{place.name}: low = {how.low}, high = {how.high}: need low < high")
    if how.spacing == "ratio" and not low > 0.0:
        raise InputError(f"{place.name}: low = {how.low}: equal ratios need a low above 0")
    space = np.linspace if how.spacing == "even" else np.geomspace
    values = tuple(float(f"{x:.10g}") for x in space(low, high, how.steps))
    found = Dimension(place, unit, values, None, "", says)
    _checked(found, (values[0], values[-1]))
    return found


def _checked(found: Dimension, values: Sequence[Plain]) -> None:
    for value in values:
        found.settled(value)


# Distributions


def _parts(how: AnyDistribution) -> list[Plain]:
    """Numbers of a distribution in one unit, and at the end the unit."""
    if isinstance(how, varied.Samples):
        numbers, unit = same_unit([str(x) for x in how.samples])
        return [*numbers, unit]
    keys = {
        varied.Uniform: ("low", "high"),
        varied.Triangular: ("low", "mode", "high"),
        varied.Normal: ("mean", "deviation"),
        varied.LogNormal: ("median",),
    }[type(how)]
    texts = [str(getattr(how, key)) for key in keys]
    ends = getattr(how, "truncate", None) or ()
    numbers, unit = same_unit([*texts, *map(str, ends)])
    return [*numbers, unit]


def _bare(how: AnyDistribution) -> AnyDistribution:
    """The distribution in plain numbers."""
    *numbers, _ = _parts(how)
    if isinstance(how, varied.Samples):
        return varied.Samples(tuple(sorted(numbers)), source=how.source)
    if isinstance(how, varied.Normal | varied.LogNormal):
        count = 2 if isinstance(how, varied.Normal) else 1
        ends = tuple(numbers[count:]) or None
        if isinstance(how, varied.Normal):
            return varied.Normal(numbers[0], numbers[1], ends, source=how.source)
        return varied.LogNormal(numbers[0], how.spread, ends, source=how.source)
    return type(how)(*numbers, source=how.source)


def _check_distribution(found: Dimension, how: AnyDistribution) -> None:
    """Refuse a distribution that is none, or that leaves the bounds of its quantity."""
    bare = found.distribution
    if isinstance(bare, varied.Uniform) and not bare.low < bare.high:
        raise InputError(f"{found.name}: low = {how.low}, high = {how.high}: need low < high")  # type: ignore[union-attr]
    if isinstance(bare, varied.Triangular) and not (
        bare.low <= bare.mode <= bare.high and bare.low < bare.high
    ):
        raise InputError(f"{found.name}: need low <= mode <= high and low < high")
    if isinstance(bare, varied.Normal) and not bare.deviation > 0.0:
        raise InputError(f"{found.name}: deviation = {bare.deviation:g}: must be above 0")
    if isinstance(bare, varied.LogNormal) and not bare.median > 0.0:
        raise InputError(f"{found.name}: median = {bare.median:g}: must be above 0")
    ends = getattr(bare, "truncate", None)
    if ends is not None and not ends[0] < ends[1]:
        raise InputError(f"{found.name}: truncate = {list(ends)}: need two rising values")
    endless = isinstance(bare, varied.Normal | varied.LogNormal) and ends is None
    shares = (RARE, 1.0 - RARE) if endless else (0.0, 1.0)
    for value in found.at(np.array(shares)):
        try:
            found.settled(float(value))
        except InputError as error:
            told = _in_few_digits(found, float(value), error)
            if endless:
                told = (
                    f"it goes on to {told.split('; ')[0]}; say truncate = [low, high]: draws are "
                    "not moved to a bound"
                )
            raise InputError(f"{found.name}: the distribution leaves its bounds: {told}") from None


def _in_few_digits(found: Dimension, value: float, error: InputError) -> str:
    """What is wrong with a value, said of three of its digits where that is wrong too."""
    short = float(f"{value:.3g}")
    number = int(short) if short.is_integer() else short
    try:
        found.settled(number)
    except InputError as same:
        error = same
    first = str(error).splitlines()[0]
    return first.removeprefix(f"{found.name}: ").removeprefix(f"{found.name} = ")


def _quantile(how: AnyDistribution, shares: Array) -> Array:
    if isinstance(how, varied.Samples):
        rows = np.asarray(how.samples, dtype=float)
        return rows[np.minimum((np.asarray(shares) * len(rows)).astype(int), len(rows) - 1)]
    if isinstance(how, varied.Uniform):
        return np.asarray(how.low + (how.high - how.low) * shares)
    if isinstance(how, varied.Triangular):
        width = how.high - how.low
        return np.asarray(stats.triang.ppf(shares, (how.mode - how.low) / width, how.low, width))
    law = _normal(how)
    low, high = (0.0, 1.0) if how.truncate is None else map(law.cdf, _ends(how))
    found = law.ppf(low + (high - low) * np.asarray(shares))
    found = np.exp(found) if isinstance(how, varied.LogNormal) else found
    # the ends themselves, which cdf and ppf give back with round-off
    return np.asarray(found if how.truncate is None else np.clip(found, *how.truncate))


def _normal(how: varied.Normal | varied.LogNormal) -> Plain:
    if isinstance(how, varied.Normal):
        return stats.norm(how.mean, how.deviation)
    return stats.norm(np.log(how.median), np.log(how.spread))


def _ends(how: varied.Normal | varied.LogNormal) -> tuple[float, float]:
    assert how.truncate is not None
    low, high = how.truncate
    if isinstance(how, varied.LogNormal):
        return float(np.log(max(low, 1e-300))), float(np.log(high))
    return float(low), float(high)


def settle_many(found: Dimension, values: Sequence[Plain]) -> list[Plain]:
    """What many values settle: each by itself on an axis, draws by a line.

    A unit is a factor, or for temperatures a line: its two anchors are quartiles of the
    distribution, so that a draw settles the same in every sample, and a third value makes sure.
    """
    known: dict[Plain, Plain] = {}
    if found.distribution is None or isinstance(found.distribution, varied.Samples):
        for value in values:
            if value not in known:
                known[value] = found.settled(value)
        return [known[value] for value in values]
    low, middle, high = (float(x) for x in found.at(np.array([0.25, 0.5, 0.75])))
    ends = [found.settled(x) for x in (low, high)]
    if not all(isinstance(end, float) for end in ends):
        return [found.settled(value) for value in values]
    slope = (ends[1] - ends[0]) / (high - low)
    if abs(ends[0] + slope * (middle - low) - found.settled(middle)) > 1e-12 * max(map(abs, ends)):
        return [found.settled(value) for value in values]
    return [ends[0] + slope * (value - low) for value in values]
