"""What a verdict says: its findings and what they add up to. Computes no rating."""

from __future__ import annotations

import json
from dataclasses import dataclass

from hygro.assess.criteria import Finding


@dataclass(frozen=True)
class Verdict:
    """All findings on one run, and what they add up to.

    Attributes
    ----------
    findings : tuple of Finding
        In the order of the criteria.
    sheathing, sheathing_reason : str
        The layer judged as sheathing and why it was taken.
    skip_days : float
        Days at the start of the run left out (drying of construction moisture). [d]
    start, end : str
        First and last instant judged.
    """

    findings: tuple[Finding, ...]
    sheathing: str
    sheathing_reason: str
    skip_days: float
    start: str
    end: str

    @property
    def passed(self) -> bool | None:
        """True where all hard criteria hold, False where one fails.

        None where none fails but a hard one could not be judged.
        """
        results = [finding.passed for finding in self.findings if finding.hard]
        if False in results:
            return False
        return None if None in results or not results else True

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
        """The hard finding with the least margin."""
        rated = [f for f in self.findings if f.hard and f.margin is not None]
        return min(rated, key=lambda f: float(f.margin or 0.0)) if rated else None

    def of(self, key: str) -> tuple[Finding, ...]:
        """Findings on one criterion."""
        return tuple(f for f in self.findings if f.criterion.key == key)

    def to_dict(self) -> dict[str, object]:
        """Plain values for JSON."""
        return {
            "passed": self.passed,
            "sheathing": self.sheathing,
            "sheathing_reason": self.sheathing_reason,
            "skip_days": self.skip_days,
            "start": self.start,
            "end": self.end,
            "findings": [finding.to_dict() for finding in self.findings],
        }

    def to_json(self) -> str:
        """`to_dict` as JSON text."""
        return json.dumps(self.to_dict(), indent=2, ensure_ascii=False, allow_nan=False)
