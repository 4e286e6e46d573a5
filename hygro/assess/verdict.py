"""What a verdict says: its findings and what they add up to. Computes no rating."""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from hygro import html
from hygro.assess.criteria import Finding
from hygro.assess.criteria.sets import SHIPPED
from hygro.assess.questions import Question
from hygro.errors import InputError, must_be, near_matches
from hygro.types import Data

if TYPE_CHECKING:
    import pandas as pd

OUTCOMES = ("within limits", "fails closing in", "not judged", "fails")
"""Classes of a verdict, best first."""
_SHOWN = 5
"""Findings that a verdict shows of itself in a terminal."""


def _weight(finding: Finding) -> tuple[int, bool, float]:
    rank = {False: 0, None: 1, True: 2}[finding.passed]
    margin = math.inf if finding.margin is None else finding.margin
    return rank, rank < 2 and finding.criterion.question == "closing in", margin


def _passed(findings: Sequence[Finding]) -> bool | None:
    results = [finding.passed for finding in findings if finding.hard]
    if False in results:
        return False
    return None if None in results or not results else True


@dataclass(frozen=True, repr=False)
class Verdict:
    """All findings on one run, and what they add up to.

    Attributes
    ----------
    findings : tuple of Finding
        In the order of the criteria.
    sheathing, sheathing_reason : str
        The layer judged as sheathing and why it was taken.
    skip_days : float
        Days at the start of the run left out of service. [d]
    start, end : str
        First and last instant judged for service; for closing in where that alone is asked.
    notes : tuple of str
        What a reader must know beside the findings.
    closing_start : str or None
        First instant judged for closing in; None where service alone is asked.
    keys : tuple of str or None
        Keys of the criteria that judged. None: a function was among them, whose keys are its own.
    """

    findings: tuple[Finding, ...]
    sheathing: str
    sheathing_reason: str
    skip_days: float
    start: str
    end: str
    notes: tuple[str, ...] = ()
    closing_start: str | None = None
    keys: tuple[str, ...] | None = ()

    @property
    def span(self) -> str:
        """What was judged, from day to day; closing in is named where it begins before service."""
        start, end = self.start[:10], self.end[:10]
        if self.closing_start in (None, self.start):
            return f"{start} to {end}"
        return f"service {start} to {end}, closing in from {self.closing_start[:10]}"

    @property
    def outcome(self) -> str:
        """Class of the wall: `OUTCOMES`, best first."""
        service, closing = self.passed_in("service"), self.passed_in("closing in")
        if service is False:
            return "fails"
        if closing is False:
            return "fails closing in"
        return "not judged" if self.passed is None else "within limits"

    def passed_in(self, question: Question) -> bool | None:
        """`passed`, counting the hard criteria of one question only."""
        return _passed([f for f in self.findings if f.criterion.question == question])

    @property
    def passed(self) -> bool | None:
        """True where all hard criteria hold, False where one fails.

        None where none fails but a hard one could not be judged.
        """
        return _passed(self.findings)

    @property
    def failed(self) -> tuple[Finding, ...]:
        """Hard findings that fail."""
        return tuple(f for f in self.findings if f.hard and f.passed is False)

    @property
    def unjudged(self) -> tuple[Finding, ...]:
        """Findings, hard or soft, that could not be judged."""
        return tuple(f for f in self.findings if f.passed is None)

    @property
    def worst(self) -> Finding | None:
        """The hard finding that decides.

        Of those that fail the one with the least margin; of those that could not be judged the
        first; else the one nearest to its limit. Service goes before closing in.
        """
        hard = [f for f in self.findings if f.hard]
        return min(hard, key=_weight) if hard else None

    @property
    def reserve(self) -> float | None:
        """Least margin of the hard findings; None where none has one. [1]

        Where one fails, of those that ask its question: the number belongs to what decides.
        """
        worst = self.worst
        asked = None if worst is None or worst.passed is not False else worst.criterion.question
        margins = [
            f.margin
            for f in self.findings
            if f.hard and f.margin is not None and asked in (None, f.criterion.question)
        ]
        return min(margins, default=None)

    def of(self, key: str) -> tuple[Finding, ...]:
        """Findings on one criterion; none where it found nothing, or is shipped and did not judge.

        Raises
        ------
        InputError
            For an unknown key, with near matches.
        """
        must_be(key, str, "criterion", "the key of one, such as 'mould_index'")
        found = tuple(f for f in self.findings if f.criterion.key == key)
        if not found and self.keys is not None:
            known = {*self.keys, *(f.criterion.key for f in self.findings), *SHIPPED}
            if key not in known:
                raise InputError(f"criterion '{key}': unknown ({near_matches(key, known)})")
        return found

    def to_dict(self) -> dict[str, object]:
        """Plain values for JSON."""
        return {
            "passed": self.passed,
            "outcome": self.outcome,
            "sheathing": self.sheathing,
            "sheathing_reason": self.sheathing_reason,
            "skip_days": self.skip_days,
            "start": self.start,
            "end": self.end,
            "closing_start": self.closing_start,
            "notes": list(self.notes),
            "findings": [finding.to_dict() for finding in self.findings],
        }

    def to_json(self) -> str:
        """`to_dict` as JSON text."""
        return json.dumps(self.to_dict(), indent=2, ensure_ascii=False, allow_nan=False)

    def to_frame(self) -> pd.DataFrame:
        """One row a finding, with the keys of `Finding.to_dict` as columns.

        Value and limit are in the unit of the column `unit`; `when` is a date, of the weather where
        `service_year` has a year. What holds for the whole verdict stands in `attrs`.
        """
        return frame(self.to_dict())

    def __repr__(self) -> str:
        """Say the verdict and the hard findings that made it, in a few lines."""
        hard = [f for f in self.findings if f.hard]
        blamed = [f for f in hard if f.passed is not True] or [f for f in [self.worst] if f]
        lines = [f"  {finding.reason}" for finding in blamed[:_SHOWN]]
        more = [f"  and {len(blamed) - _SHOWN} more"] if len(blamed) > _SHOWN else []
        return "\n".join(
            [
                f"Verdict: {self.outcome}; sheathing '{self.sheathing}', {self.span}",
                f"  findings: {len(self.findings)}, hard among them: {len(hard)}",
                *lines,
                *more,
                *(f"  note: {note}" for note in self.notes),
            ]
        )

    def _repr_html_(self) -> str:
        """Table of the findings, those that decide first."""
        rows = [
            (
                f.criterion.quantity,
                f.place,
                "–" if f.value is None else f.criterion.shown(f.value),
                f.criterion.worded(f.limit),
                f.outcome,
                "yes" if f.hard else "no",
            )
            for f in sorted(self.findings, key=lambda f: not f.hard)
        ]
        title = f"{self.outcome}, sheathing '{self.sheathing}'"
        head = ("criterion", "place", "value", "limit", "outcome", "decides")
        return html.table(title, head, rows)


def frame(told: Data) -> pd.DataFrame:
    """The findings of a verdict's `to_dict` as a table, the rest in its `attrs`."""
    import pandas as pd

    rows = told["findings"]
    table = pd.DataFrame(rows, columns=list(rows[0]) if rows else None)
    if rows:
        table["when"] = pd.to_datetime(table["when"], format="%Y-%m-%dT%H")
        table["service_year"] = table["service_year"].astype("Int64")
    table.attrs = {key: value for key, value in told.items() if key != "findings"}
    return table


def margin_words(margin: float | None) -> str:
    """Write a margin as signed per cent of the limit, a zero too; a dash where there is none."""
    if margin is None or not math.isfinite(margin):
        return "–"
    if abs(margin) >= 10.0:
        return "> +999 %" if margin > 0.0 else "< -999 %"
    # Tenths where a whole number would hide on which side of the limit it is.
    return f"{100 * margin:+.{1 if abs(margin) < 0.01 else 0}f} %"


def reserve_words(verdict: Verdict) -> str:
    """The reserve of a verdict in words; what has no share of its limit is told by its value."""
    worst = verdict.worst
    if worst is None or worst.passed is not False or worst.margin is not None:
        return margin_words(verdict.reserve)
    value = worst.criterion.worded(worst.value or 0.0)
    return f"gains {value} a year" if worst.criterion.key == "accumulation" else value


def short_place(place: str) -> str:
    """Write a place for a narrow column."""
    return place.replace(", outer face", " outer").replace(", inner face", " inner")


def deciding_words(verdict: Verdict) -> str:
    """The place and the criterion that decide, for a narrow column."""
    worst = verdict.worst
    if worst is None:
        return "–"
    return f"{short_place(worst.place)}: {worst.criterion.short or worst.criterion.quantity}"
