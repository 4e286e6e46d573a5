"""A comparison as plain values and JSON, for scripts. Owns the keys; runs and ranks nothing."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import numpy as np
from pydantic import BaseModel, TypeAdapter, ValidationError

from hygro.errors import InputError
from hygro.study.reserve import Bound, Reserve
from hygro.types import Data

if TYPE_CHECKING:
    from hygro.study.certainty import Certainty
    from hygro.study.compare import Compared
    from hygro.study.runs import Failure, Outcome


def to_dict(
    compared: Sequence[Compared],
    failed: Sequence[Failure] = (),
    checks: Sequence[Certainty] = (),
) -> list[dict[str, object]]:
    """Plain values of a comparison for JSON, best first; walls that failed come last.

    `checks` belong to the runs of the first wall, in their order.
    """
    told: list[dict[str, object]] = [
        {
            "case": item.tight.run.provenance.get("case", ""),
            "wall": item.name,
            "place": item.tight.run.place,
            "room": item.tight.run.room_name,
            "azimuth": item.tight.run.wall.azimuth,
            "years": item.tight.years,
            "passed": item.passed,
            "outcome": item.outcome,
            "margin": item.margin if np.isfinite(item.margin) else None,
            "decided_by": item.deciding.run.scenario,
            "leak_notes": list(item.leak_notes),
            "reserve": None if item.reserve is None else item.reserve.to_dict(),
            "runs": [_outcome(outcome) for outcome in item.outcomes],
        }
        for item in compared
    ]
    for run, check in zip(_runs(told), checks, strict=False):
        run["check"] = check.to_dict()
    return told + [
        {
            "case": item.run.provenance.get("case", ""),
            "wall": item.run.name,
            "scenario": item.run.scenario,
            "leaks": item.run.leaks,
            "error": item.error,
            "runs": [],
        }
        for item in failed
    ]


def stored_reserves(path: Path) -> dict[str, Reserve]:
    """Return by wall what a comparison left as JSON says that each bears.

    Raises
    ------
    InputError
        The file cannot be read, or is not what a comparison leaves.
    """
    try:
        rows = _ROWS.validate_json(path.read_bytes())
    except (OSError, ValidationError) as error:
        first = str(error).splitlines()[0]
        raise InputError(
            f"{path}: what its walls bear cannot be read ({first[:100]}); was it changed, or made "
            "by another version? give the result files (.nc) without it"
        ) from None
    found = {}
    for row in rows:
        bounds = {name: bound for name, bound in (row.reserve or {}).items() if bound is not None}
        if bounds:
            given = {name: bounds.get(name) for name in ("winter_rh", "rain", "outboard")}
            found[row.wall] = Reserve(**given, asked=tuple(bounds))
    return found


class _Row(BaseModel):
    """What is read of a wall."""

    wall: str
    reserve: dict[Literal["winter_rh", "rain", "outboard"], Bound | None] | None = None


_ROWS: TypeAdapter[list[_Row]] = TypeAdapter(list[_Row])


def _runs(told: list[Data]) -> list[Data]:
    return told[0]["runs"] if told else []


def _outcome(outcome: Outcome) -> dict[str, object]:
    hand = outcome.hand
    values = {k: v for k, v in hand.__dict__.items() if k not in ("rows", "code")}
    code = None if hand.code is None else {**hand.code._asdict(), "below": hand.code.below}
    return {
        "scenario": outcome.run.scenario,
        "leaks": outcome.run.leaks,
        "file": None if outcome.run.file is None else outcome.run.file.name,
        "verdict": outcome.verdict.to_dict(),
        "summary": outcome.numbers,
        "hand": {**values, "code": code, "layers": [row._asdict() for row in hand.rows]},
        "quality": outcome.quality,
        "resumed": outcome.resumed,
        "recomputed": list(outcome.recomputed),
    }


def to_json(
    compared: Sequence[Compared],
    failed: Sequence[Failure] = (),
    checks: Sequence[Certainty] = (),
) -> str:
    """`to_dict` as JSON text."""
    told = to_dict(compared, failed, checks)
    return json.dumps(told, indent=2, ensure_ascii=False, default=str)
