"""The criteria of a case: shipped ones with its changes, its own, and those stored in a record."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import xarray as xr

from hygro.assess.choose import criterion_at, with_changes
from hygro.assess.criteria import CRITERIA, Judged
from hygro.assess.criteria.sets import rule_set
from hygro.assess.judge import verdict
from hygro.assess.verdict import Verdict
from hygro.case.schema import CriteriaEntry
from hygro.case.trouble import Problem
from hygro.errors import InputError


def criteria(
    entry: CriteriaEntry, folder: Path | None, problems: list[Problem]
) -> tuple[Judged, ...] | str:
    """Return the criteria of a case; what is wrong with them is added to `problems`.

    A rule set of which nothing is changed is returned by its name.
    """
    if not entry.own and not entry.change:
        return CRITERIA if entry.rules == "default" else entry.rules
    rows: tuple[Judged, ...] = rule_set(entry.rules).criteria
    for i, dotted in enumerate(entry.own):
        try:
            rows = (*rows, criterion_at(dotted, folder))
        except InputError as error:
            problems.append(Problem(f"criteria.own[{i}]", str(error)))
    for key, change in entry.change.items():
        try:
            rows = with_changes(key, **change.model_dump(), criteria=rows)
        except InputError as error:
            problems.append(Problem(f"criteria.change.{key}", str(error)))
    return rows


def judge_stored(
    ds: xr.Dataset, *, sheathing: str | None = None, rules: str | None = None
) -> Verdict:
    """Judge a record by the criteria of the case that it holds; by the default where it holds none.

    Parameters
    ----------
    ds : Dataset
        A result, fresh or reopened.
    sheathing : str, optional
        Another layer than that of the case.
    rules : str, optional
        The name of a rule set instead of the criteria of the case.

    Raises
    ------
    InputError
        A criterion of the case cannot be found here.
    """
    text = str(ds.attrs.get("case_text", ""))
    entry = CriteriaEntry.model_validate(tomllib.loads(text).get("criteria", {}))
    problems: list[Problem] = []
    rows = rules or criteria(entry, None, problems)
    if problems:
        raise InputError("; ".join(f"{where}: {what}" for where, what in problems))
    options: dict[str, Any] = {
        "sheathing": sheathing or ds.attrs.get("sheathing") or None,
        "skip_days": entry.skip_days,
        "mould_model": entry.mould_model,
    }
    return verdict(ds, criteria=rows, **options)
