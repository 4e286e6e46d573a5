"""Which criteria judge a run: the shipped ones, changed copies, and a user's own by their path.

Owns the choice; computes nothing.
"""

from __future__ import annotations

import importlib
import sys
from collections.abc import Iterable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from hygro.assess.criteria import CRITERIA, Criterion, Judged
from hygro.assess.questions import Question
from hygro.errors import InputError, must_be, near_matches


def with_changes(
    key: str,
    *,
    limit: float | None = None,
    hard: bool | None = None,
    source: str | None = None,
    criteria: Sequence[Judged] = CRITERIA,
) -> tuple[Judged, ...]:
    """Return the criteria with another limit, source or weight for one of them.

    A changed limit without a `source` is marked as set by the user.

    Raises
    ------
    InputError
        For an unknown key.
    """
    known = {row.key: row for row in criteria if isinstance(row, Criterion)}
    if key not in known:
        raise InputError(f"criterion '{key}': unknown ({near_matches(key, known)})")
    row = known[key]
    if limit is not None:
        row = replace(row, limit=limit, source="set by the user", origin="set by the user")
    if source is not None:
        row = replace(row, source=source)
    if hard is not None:
        row = replace(row, hard=hard)
    return tuple(row if old is known[key] else old for old in criteria)


def only_shipped(criteria: Sequence[Judged] | str) -> bool:
    """Say whether nothing but shipped criteria judge, which need no record."""
    if isinstance(criteria, str):
        return True
    judges = [item.judge if isinstance(item, Criterion) else item for item in criteria]
    return all(getattr(j, "__module__", "").startswith("hygro.assess.") for j in judges)


def as_rows(criteria: Sequence[Judged] | Judged | str) -> tuple[Judged, ...] | str:
    """Return criteria as a tuple, also a single one; the name of a rule set as it is.

    Raises
    ------
    InputError
        What is given is none of these.
    """
    if isinstance(criteria, str):
        return criteria
    if isinstance(criteria, Criterion) or callable(criteria):
        return (criteria,)
    must_be(criteria, Iterable, "criteria", "Criterion objects or functions, or a rule set by name")
    return tuple(criteria)


def criterion_at(path: str, folder: Path | None = None) -> Judged:
    """Return a user's criterion by its dotted path, ``"mypackage.mymodule:my_criterion"``.

    Parameters
    ----------
    path : str
        Module and name of a `Criterion`, or of a function that takes the record and yields
        findings. Importing the module runs its code.
    folder : Path, optional
        Sought too, after what Python finds by itself.

    Raises
    ------
    InputError
        With the path, where it cannot be imported or is no criterion.
    """
    where = f"criterion '{path}'"
    module, colon, name = path.partition(":")
    if not (module and colon and name):
        raise InputError(f"{where}: must be 'package.module:name'")
    found: Any = _imported(module, where, folder)
    if not hasattr(found, name):
        known = near_matches(name, [key for key in vars(found) if not key.startswith("_")])
        raise InputError(f"{where}: module '{module}' has no '{name}'; {known}")
    found = getattr(found, name)
    check_judged(found, where)
    return found


def _imported(module: str, where: str, folder: Path | None) -> Any:
    # It stays on the search path, last: processes that judge import the module again.
    if folder is not None and str(folder.resolve()) not in sys.path:
        sys.path.append(str(folder.resolve()))
    try:
        return importlib.import_module(module)
    except Exception as error:
        raise InputError(
            f"{where}: module '{module}' cannot be imported ({type(error).__name__}: {error}); is "
            "it installed, or beside the case file?"
        ) from error


def check_judged(item: object, where: str) -> None:
    """Raise `InputError` for what can judge nothing."""
    if isinstance(item, Criterion):
        if item.judge is None:
            raise InputError(f"{where}: has no judge, so it can judge nothing")
    elif isinstance(item, type) or not callable(item):
        kind = "class" if isinstance(item, type) else type(item).__name__
        raise InputError(
            f"{where}: is a {kind}: must be a Criterion, or a function that takes the record and "
            "yields findings"
        )


def check_keys(criteria: Sequence[Judged]) -> None:
    """Raise `InputError` where two criteria share a key, or one can judge nothing."""
    seen: set[str] = set()
    for item in criteria:
        check_judged(item, f"criterion '{name_of(item)}'")
        if isinstance(item, Criterion):
            if item.key in seen:
                raise InputError(f"criterion '{item.key}': given twice; give one another key")
            seen.add(item.key)


def name_of(item: Judged) -> str:
    """Key of a criterion, or module and name of a function."""
    if isinstance(item, Criterion):
        return item.key
    name = getattr(item, "__qualname__", type(item).__name__)
    return f"{getattr(item, '__module__', '')}:{name}"


def question_of(item: Judged) -> Question:
    """Which of the two questions a criterion asks; a function asks that of service."""
    return item.question if isinstance(item, Criterion) else "service"
