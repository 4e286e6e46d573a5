"""What is kept of a run of a study: its verdict and numbers in a few hundred numbers, no fields."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
import xarray as xr

from hygro.assess.criteria import Finding
from hygro.assess.judge import verdict
from hygro.assess.summary import summary
from hygro.assess.verdict import Verdict, deciding_words
from hygro.study.runs import Judging, Outcome, quality
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
        `passed`, `hard`, `place`.
    quality : dict
        Closures and counts.
    digests : dict
        Of wall, loads and fields.
    years, seconds : float
        Length of the record [a], time spent on it [s].
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


def rated(sha256: str, record: xr.Dataset, sheathing: str | None, how: Judging) -> Row:
    """Reduce a record to its row."""
    options: Data = {
        "sheathing": sheathing,
        "skip_days": how.skip_days,
        "mould_model": how.mould_model,
    }
    found = verdict(record, criteria=how.criteria, **options)
    numbers = summary(record, **options)
    years = (record.sizes["time"] - 1) / 8760.0
    return _row(sha256, found, numbers, quality(record), years, _digests(record))


def of_outcome(sha256: str, outcome: Outcome) -> Row:
    """Reduce the outcome of a run that was made by itself to its row."""
    return _row(sha256, outcome.verdict, outcome.numbers, outcome.quality, outcome.years, {})


def failed(sha256: str, error: str) -> Row:
    """Return the row of a run that could not be done."""
    return Row(sha256, "failed", outcome="not computed", error=error)


def _row(
    sha256: str,
    found: Verdict,
    numbers: Mapping[str, object],
    said: Mapping[str, object],
    years: float,
    digests: dict[str, str],
) -> Row:
    worst = found.worst
    return Row(
        sha256=sha256,
        state="done",
        outcome=found.outcome,
        passed=found.passed,
        margin=found.reserve,
        decides=deciding_words(found),
        reason="" if worst is None else worst.reason,
        numbers={k: v for k, v in numbers.items() if not isinstance(v, Mapping)},
        criteria=_criteria(found),
        quality={k: v for k, v in said.items() if k != "assumptions"},
        digests=digests,
        years=years,
    )


def _criteria(found: Verdict) -> dict[str, Data]:
    keys = dict.fromkeys(f.criterion.key for f in found.findings)
    return {key: _told(min(found.of(key), key=_weight)) for key in keys}


def _weight(finding: Finding) -> tuple[int, int, float]:
    rank = {False: 0, True: 1, None: 2}[finding.passed]
    near = finding.margin if finding.margin is not None else -(finding.value or 0.0)
    return rank, not finding.hard, near


def _told(finding: Finding) -> Data:
    return {
        "value": finding.value,
        "limit": finding.limit,
        "margin": finding.margin,
        "passed": finding.passed,
        "hard": finding.hard,
        "place": finding.place,
    }


def _digests(record: xr.Dataset) -> dict[str, str]:
    digest = hashlib.sha256()
    for name in DIGESTED:
        digest.update(np.ascontiguousarray(record.variables[name].values).tobytes())
    keys = ("wall_sha256", "loads_sha256")
    return {"fields": digest.hexdigest(), **{key: str(record.attrs[key]) for key in keys}}
