"""A criterion and a finding: what is judged, against which limit, and what was found.

Owns both values; knows no rating.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Literal

import numpy as np
import xarray as xr

from hygro.assess.questions import Question
from hygro.assess.select import stamp
from hygro.errors import InputError

if TYPE_CHECKING:
    from hygro.assess.criteria.rated import Rated

Origin = Literal["published", "from memory", "common practice, no source", "set by the user"]
NO_SHARE = ("K", "degC")
"""Units whose zero is a convention: a share of such a limit says nothing."""
_UNITS = {"kg m-2": " kg/m²", "h": " h", "d": " d", "1": ""}


@dataclass(frozen=True, kw_only=True)
class Criterion:
    """A quantity, the limit it must not pass, where that comes from, and how it is found.

    Attributes
    ----------
    key, quantity : str
        Short name, and plain words for tables and reasons.
    limit : float
        In `unit`. The value must stay below it ("below") or may reach it ("at most").
    unit : str
        As UDUNITS reads it; "1" for a number.
    judge : callable
        Takes a `Rated` and this criterion and yields findings, made by `finding`. None: a row for
        the findings of a function, which cannot be judged by itself.
    sense : str
        "below" or "at most".
    hard : bool
        True where failing it fails the wall.
    source, origin : str
        Document, and how surely the number is known here.
    note : str
        Where it looks, why it is hard or soft, and what it does not say.
    percent : bool
        Written in per cent; the value is a fraction.
    short : str
        Words for a narrow column; `quantity` where empty.
    known_to : float, optional
        A value beyond this is written as being beyond it: the number says no more.
    share : bool
        The distance to the limit is told as a share of it; else there is no margin.
    question : str
        "service" (year after year) or "closing in" (from the state at the start).

    Raises
    ------
    InputError
        For a limit that is no number, an unknown sense, or a judge that cannot be called.
    """

    key: str
    quantity: str
    limit: float
    unit: str = "1"
    judge: Callable[[Rated, Criterion], Iterable[Finding]] | None = field(default=None, repr=False)
    sense: Literal["below", "at most"] = "at most"
    hard: bool = True
    source: str = "set by the user"
    origin: Origin = "set by the user"
    note: str = ""
    percent: bool = False
    short: str = ""
    known_to: float | None = None
    share: bool = True
    question: Question = "service"

    def __post_init__(self) -> None:
        """Check what a user may have written."""
        where = f"criterion '{self.key}'"
        if not isinstance(self.limit, int | float) or not math.isfinite(self.limit):
            raise InputError(f"{where}: limit = {self.limit!r}: must be a finite number")
        if self.sense not in ("below", "at most"):
            raise InputError(f"{where}: sense = {self.sense!r}: must be 'below' or 'at most'")
        if self.question not in ("service", "closing in"):
            raise InputError(
                f"{where}: question = {self.question!r}: must be 'service' or 'closing in'"
            )
        if self.judge is not None and not callable(self.judge):
            raise InputError(f"{where}: judge is a {type(self.judge).__name__}: must be a function")

    def holds(self, value: float) -> bool:
        """Say whether a value is within the limit."""
        return value < self.limit if self.sense == "below" else value <= self.limit

    def margin(self, value: float) -> float | None:
        """Distance to the limit as a fraction of the limit, positive within it.

        At the limit itself the zero has the sign of the side that it belongs to: -0.0 where the
        value must stay below. None where the limit is 0, and where a share of it says nothing.
        """
        if not self.share or self.limit == 0.0 or self.unit in NO_SHARE:
            return None
        return (self.limit - value) / self.limit or (0.0 if self.holds(value) else -0.0)

    def worded(self, value: float) -> str:
        """Write a value of the quantity with its unit."""
        if self.percent:
            return f"{100 * value:.1f} %"
        text = f"{value:.0f}" if abs(value) >= 1000 else f"{value:.3g}"
        return text + _UNITS.get(self.unit, " " + self.unit)

    def shown(self, value: float) -> str:
        """Write a value found: `worded`, or that it is beyond `known_to`."""
        if self.known_to is not None and value > self.known_to:
            return f"> {self.worded(self.known_to)}"
        return self.worded(value)

    def finding(
        self,
        place: str,
        value: float | None,
        when: np.datetime64 | None = None,
        *,
        service_year: int | None = None,
        limit: float | None = None,
        hard: bool | None = None,
        note: str = "",
    ) -> Finding:
        """Compare a value with the limit and put it into words.

        Parameters
        ----------
        place : str
            Layer, part or surface.
        value : float or None
            In the unit of the criterion; None or NaN: could not be judged, `note` says why.
        when : datetime64, optional
            Instant of the value.
        service_year : int, optional
            Year of service, where its hours come again and again: `when` is the date of the weather
            that is met then.
        limit, hard
            Where they differ at this place.
        note : str
            Stands after the reason; `Finding.remark`.
        """
        row = self if limit is None else replace(self, limit=limit)
        decides = row.hard if hard is None else hard
        if value is None or not math.isfinite(value):
            reason = f"{place}: {row.quantity} not judged, {note or 'the run is too short'}"
            return Finding(
                row, place, None, row.limit, None, None, decides, None, reason, remark=note
            )
        value, passed = float(value), bool(row.holds(value))
        hour = None if when is None else stamp(when)
        date = row._date(hour, service_year)
        reason = row._reason(place, value, date, passed) + (f"; {note}" if note else "")
        margin = row.margin(value)
        return Finding(
            row, place, value, row.limit, margin, passed, decides, hour, reason, service_year, note
        )

    def _reason(self, place: str, value: float, date: str, passed: bool) -> str:
        return (
            f"{place}: {self.quantity} {self.shown(value)}{date}, limit {self.sense} "
            f"{self.worded(self.limit)}: {'within' if passed else 'beyond'} limit"
        )

    def _date(self, hour: str | None, year: int | None) -> str:
        """When the value was: an hour of the run, or of the weather met in a year of service."""
        if hour is None:
            return ""
        if year is not None:
            return f" (in year {year} of service, in the weather of {hour})"
        return f" ({'from' if self.unit == 'h' else 'at'} {hour})"


@dataclass(frozen=True)
class Finding:
    """One criterion at one place.

    Attributes
    ----------
    criterion : Criterion
        What was judged.
    place : str
        Layer, part or surface.
    value : float or None
        In the unit of the criterion; None where it could not be judged.
    limit : float
        The limit used here (it may depend on the wall). [unit of the criterion]
    margin : float or None
        (limit - value) / limit, positive within the limit. [1]
    passed : bool or None
        None where it could not be judged.
    hard : bool
        True where failing it fails the wall.
    when : str or None
        Date and hour of the value in the record, where it has one. With `service_year` it
        is no month of the run but the date of the weather.
    reason : str
        One sentence in plain words.
    service_year : int or None
        Year of service, from 1, in which the weather of `when` was met, where the hours of the
        record come again and again (mould, brown rot); None: `when` is a date of the run.
    remark : str
        What stands after the reason in it: how it was found, what is to be known of it.
    """

    criterion: Criterion
    place: str
    value: float | None
    limit: float
    margin: float | None
    passed: bool | None
    hard: bool
    when: str | None
    reason: str
    service_year: int | None = None
    remark: str = ""

    @property
    def outcome(self) -> str:
        """The finding in a word or three: what is hard fails, what is not advises."""
        if self.passed is None:
            return "not judged"
        if self.passed:
            return "within limit"
        return "fails" if self.hard else "advisory: beyond limit"

    def to_dict(self) -> dict[str, object]:
        """Plain values for JSON; key, unit and source of the criterion included."""
        row = self.criterion
        return {
            "criterion": row.key,
            "question": row.question,
            "quantity": row.quantity,
            "place": self.place,
            "value": self.value,
            "limit": self.limit,
            "unit": row.unit,
            "margin": self.margin,
            "passed": self.passed,
            "hard": self.hard,
            "when": self.when,
            "service_year": self.service_year,
            "reason": self.reason,
            "source": row.source,
            "origin": row.origin,
            "note": row.note,
        }


Judged = Criterion | Callable[[xr.Dataset], Iterable[Finding]]
"""What a verdict can judge by: a criterion, or a function of the record that yields findings."""
