"""The criteria of a case: shipped ones with its changes, its own, and those stored in a record."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from pathlib import Path

import xarray as xr

from hygro.assess.choose import criterion_at, with_changes
from hygro.assess.criteria import CRITERIA, Criterion, Judged
from hygro.assess.criteria.sets import rule_set
from hygro.assess.judge import verdict
from hygro.assess.verdict import Verdict
from hygro.case.file import CriteriaEntry
from hygro.declare import read
from hygro.errors import InputError, RecordError
from hygro.problems import Problem
from hygro.record.provenance import stored_wall
from hygro.study.runs import Judging
from hygro.types import Data


def criteria(
    entry: CriteriaEntry, folder: Path, problems: list[Problem]
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
            rows = with_changes(key, **vars(change), criteria=rows)
        except InputError as error:
            problems.append(Problem(f"criteria.change.{key}", str(error)))
    return rows


def judge_stored(
    ds: xr.Dataset, *, sheathing: str | None = None, rules: str | None = None
) -> Verdict:
    """Judge a record by the criteria of the case that it holds; by the default where it holds none.

    A record runs no code: criteria of one's own are left out, and the verdict says so.

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
    RecordError
        The stored text is not that of a case, or the stored wall cannot be read.
    """
    entry = _stored_entry(ds)
    how = stored_judging(ds)
    options: Data = {
        "sheathing": sheathing or (stored_wall(ds).sheathing if "wall" in ds.attrs else None),
        "skip_days": how.skip_days,
        "mould_model": how.mould_model,
    }
    found = verdict(ds, criteria=rules or how.criteria, **options)
    if not entry.own or rules is not None:
        return found
    note = f"without the case's own {', '.join(entry.own)}: a record runs no code"
    unjudged = tuple(
        Criterion(
            key=name, quantity="the case's own criterion", limit=0.0, source="the case"
        ).finding(name, None, note="a record runs no code: run the case again")
        for name in entry.own
    )
    return replace(found, findings=(*found.findings, *unjudged), notes=(note, *found.notes))


def stored_judging(ds: xr.Dataset) -> Judging:
    """Return how the case that a record holds judges, without its own criteria.

    Raises
    ------
    RecordError
        The stored text is not that of a case.
    """
    entry = _stored_entry(ds)
    problems: list[Problem] = []
    rows = criteria(replace(entry, own=()), Path(), problems)
    if problems:
        raise RecordError("\n".join(f"stored case: {where}: {what}" for where, what in problems))
    return Judging(rows, entry.skip_days, entry.mould_model)


def _stored_entry(ds: xr.Dataset) -> CriteriaEntry:
    text = str(ds.attrs.get("case_text", ""))
    try:
        entry: CriteriaEntry = read(CriteriaEntry, tomllib.loads(text).get("criteria", {}))
    except (ValueError, RecursionError) as error:
        raise RecordError(f"stored case: cannot be read ({str(error)[:100]})") from None
    return entry
