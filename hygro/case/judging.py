"""How the walls of a case are judged, from the case or from the text of it that a record holds."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from hygro.assess.criteria import CRITERIA
from hygro.case.file import CriteriaEntry
from hygro.case.model import Case, changed_criteria
from hygro.declare import read
from hygro.errors import RecordError
from hygro.problems import Problem
from hygro.study.runs import Judging


def judging(case: Case) -> Judging:
    """Return how the walls of a case are judged."""
    return Judging(case.criteria, case.skip_days, case.mould_model)


def stored_judging(attrs: Mapping[Any, Any]) -> tuple[Judging, str]:
    """Return how a record is to be judged, and in words where that comes from.

    Parameters
    ----------
    attrs : mapping
        Attributes of a record; a run of a case carries the text of its case.

    Raises
    ------
    RecordError
        The stored text is not that of a case.
    """
    text = str(attrs.get("case_text", ""))
    if not text:
        return Judging(CRITERIA), "default criteria; the record holds no case"
    problems: list[Problem] = []
    try:
        entry: CriteriaEntry = read(CriteriaEntry, tomllib.loads(text).get("criteria", {}))
        rows = changed_criteria(replace(entry, own=()), Path(), problems)
    except (ValueError, RecursionError, ValidationError) as error:
        raise RecordError(f"stored case: cannot be read ({str(error)[:100]})") from None
    if problems:
        raise RecordError("\n".join(f"stored case: {p.path}: {p.text}" for p in problems))
    words = "criteria of the stored case" + (", changed by it" if rows != CRITERIA else "")
    if entry.own:
        words += f", without its own {', '.join(entry.own)}: a record runs no code"
    return Judging(rows, entry.skip_days, entry.mould_model), words
