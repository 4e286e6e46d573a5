"""How the walls of a case are judged."""

from __future__ import annotations

from hygro.case.model import Case
from hygro.study.runs import Judging


def judging(case: Case) -> Judging:
    """Return how the walls of a case are judged."""
    return Judging(case.criteria, case.skip_days, case.mould_model)
