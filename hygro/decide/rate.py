"""What is kept of a run of a study: its verdict and numbers in a few hundred numbers, no fields."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from hygro.assess.criteria import Finding
from hygro.assess.hourly import Record
from hygro.assess.select import array
from hygro.assess.verdict import Verdict, deciding_words
from hygro.decide.digest import digest_of
from hygro.record import Marched
from hygro.record.provenance import loads_hash, wall_text
from hygro.study.runs import Rating
from hygro.types import Data, Plain

DIGESTED = ("interface_temperature", "interface_vapour_pressure", "layer_water")
"""Fields of which the digest is kept: equal digests, equal bits."""


@dataclass(frozen=True)
class Row:
    """What is kept of a run.

    Attributes
    ----------
    sha256 : str
        Of the planned run.
    state : {"done", "failed"}
        Whether there is a result; else `error` says why.
    outcome, passed, margin, decides, reason
        Of its verdict: class, all hard criteria held, least margin [1], place and criterion that
        decide, and that in a sentence.
    numbers : dict
        See `hygro.assess.SUMMARY`, single numbers and words only.
    criteria : dict
        By its key what each criterion found where it is worst: `value`, `limit`, `margin`,
        `passed`, `hard`, `place`; with its `reason` where it is hard and does not pass.
    quality : dict
        Closures and counts.
    digests : dict
        Of wall, loads and fields.
    years, seconds : float
        Length of the record [a], time that a core spent on it, or a graphics card [s].
    """

    sha256: str
    state: Literal["done", "failed"]
    outcome: str = ""
    passed: bool | None = None
    margin: float | None = None
    decides: str = ""
    reason: str = ""
    numbers: Mapping[str, Plain] = field(default_factory=dict)
    criteria: Mapping[str, Mapping[str, Plain]] = field(default_factory=dict)
    quality: Mapping[str, Plain] = field(default_factory=dict)
    digests: Mapping[str, str] = field(default_factory=dict)
    error: str = ""
    years: float = 0.0
    seconds: float = 0.0


def row_of(rating: Rating, ds: Record, went: Marched) -> Row:
    """Reduce a run to its row, which has no hash yet.

    Parameters
    ----------
    rating : Rating
        What it says of itself.
    ds : Dataset or Hourly
        What was rated; of two records that of service.
    went : Marched
        Of the same.
    """
    found = rating.verdict
    worst = found.worst
    return Row(
        sha256="",
        state="done",
        outcome=found.outcome,
        passed=found.passed,
        margin=found.reserve,
        decides=deciding_words(found),
        reason="" if worst is None else worst.reason,
        numbers={k: v for k, v in rating.numbers.items() if not isinstance(v, Mapping)},
        criteria=_criteria(found),
        quality={k: v for k, v in rating.quality.items() if k != "assumptions"},
        digests=_digests(ds, went),
        years=went.loads.hours / 8760.0,
    )


def failed(sha256: str, error: str) -> Row:
    """Return the row of a run that could not be done."""
    return Row(sha256, "failed", outcome="not computed", error=error)


def _criteria(found: Verdict) -> dict[str, Data]:
    keys = dict.fromkeys(f.criterion.key for f in found.findings)
    return {key: _told(min(found.of(key), key=_weight)) for key in keys}


def _weight(finding: Finding) -> tuple[int, int, float]:
    rank = {False: 0, True: 1, None: 2}[finding.passed]
    near = finding.margin if finding.margin is not None else -(finding.value or 0.0)
    return rank, not finding.hard, near


def _told(finding: Finding) -> Data:
    blamed = finding.hard and finding.passed is not True
    return {
        "value": finding.value,
        "limit": finding.limit,
        "margin": finding.margin,
        "passed": finding.passed,
        "hard": finding.hard,
        "place": finding.place,
        **({"reason": finding.reason} if blamed else {}),
    }


def _digests(ds: Record, went: Marched) -> dict[str, str]:
    return {
        "fields": digest_of(array(ds, name) for name in DIGESTED),
        "wall_sha256": hashlib.sha256(wall_text(went.wall).encode()).hexdigest(),
        "loads_sha256": loads_hash(went.loads),
    }
