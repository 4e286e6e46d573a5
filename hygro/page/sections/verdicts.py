"""A sentence a wall: class, reserve, what decides, service and closing in."""

from __future__ import annotations

import math

from hygro.page import wording
from hygro.page.subject import Section, Subject


def verdicts(subject: Subject) -> Section:
    """Return the section; it stands first."""
    rows = [
        {
            "number": subject.number(item),
            "name": item.name,
            "outcome": item.outcome,
            "sign": wording.SIGNS[item.outcome],
            "reserve": wording.reserve(item),
            "bears": wording.borne(item, subject.system),
            "questions": wording.questions(item, subject.system),
            "why": wording.why(item, subject.system),
        }
        for item in subject.walls
    ]
    data = {
        "headline": wording.headline(subject.walls),
        "sure": wording.how_sure({k: tuple(v) for k, v in subject.checks.items()}),
        "rows": rows,
        "failed": list(subject.failed),
    }
    return Section("verdict", "Verdict", "verdicts.html", data, ("result", "criteria"))


def bar(margin: float | None) -> dict[str, float] | None:
    """Ends of a reserve bar in a box of width 100, the limit at 50; None without a margin."""
    if margin is None or not math.isfinite(margin):
        return None
    end = 50.0 + 50.0 * max(-1.0, min(1.0, margin))
    return {"x": min(50.0, end), "width": max(1.0, abs(end - 50.0))}
