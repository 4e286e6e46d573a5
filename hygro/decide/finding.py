"""What a command found of a study, kept in its store beside the runs, and read back as plain data.

Owns that form: what is read from a store runs no code and is checked against its declaration.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass, field
from typing import Literal

from pydantic import TypeAdapter, ValidationError

from hygro.decide.axis import Axis, axis_of
from hygro.decide.beside import Beside
from hygro.decide.engine import device_name, engine_hash
from hygro.decide.least import LeastValues
from hygro.decide.limit import Limited
from hygro.decide.map import Mapped
from hygro.decide.plan import Plan
from hygro.decide.point import PointResult
from hygro.decide.sample import Sampled
from hygro.decide.store import Kept, Store
from hygro.decide.study import Study
from hygro.decide.years import RankedYears
from hygro.errors import InputError
from hygro.record.provenance import versions
from hygro.types import Plain

MOST = 400
"""Points of a plain study that are kept in what is told; all of them are in the runs."""


@dataclass(frozen=True)
class StudyPoints:
    """The points of a study that asks nothing but what each of them is.

    Attributes
    ----------
    axes : tuple of Axis
        What varies.
    counts : dict
        Points by their class.
    results : list of PointResult
        The first `MOST`.
    """

    axes: tuple[Axis, ...]
    counts: dict[str, int]
    results: list[PointResult]


Found = Mapped | LeastValues | Limited | Sampled | RankedYears | StudyPoints
Kind = Literal["map", "least", "limit", "sample", "years", "points"]
KINDS: dict[Kind, type] = {
    "map": Mapped,
    "least": LeastValues,
    "limit": Limited,
    "sample": Sampled,
    "years": RankedYears,
    "points": StudyPoints,
}


@dataclass(frozen=True)
class About:
    """What a finding rests on.

    Attributes
    ----------
    case, wall, room, leaks : str
        Names, and which leaks were on (`StudyEntry.leaks`).
    points, runs, distinct : int
        Of its plan.
    plan_sha256, engine_sha256 : str
        Of the plan and of what computed it.
    declared_sha256 : str
        Of the plan of the study as declared; empty in what an earlier version kept.
    versions : dict
        Of Python and packages.
    case_file, case_text, case_sha256 : str
        The case; empty where the study was made in Python.
    climates : tuple of str
        SHA-256 of the weather data.
    device : str
        What marched the runs, with what compiled for it.
    """

    case: str
    wall: str
    room: str
    leaks: str
    points: int
    runs: int
    distinct: int
    plan_sha256: str
    engine_sha256: str
    versions: dict[str, str]
    case_file: str
    case_text: str = field(repr=False)
    case_sha256: str
    climates: tuple[str, ...]
    device: str = "cpu"
    declared_sha256: str = ""


@dataclass(frozen=True)
class Finding:
    """What a command found of a study."""

    kind: Kind
    about: About
    found: Found
    beside: Beside | None = None


def remember(
    study: Study, kind: Kind, found: Found, plan: Plan, beside: Beside | None = None
) -> Finding:
    """Keep what was found of a study in its store, in the place of an earlier finding of its kind.

    Parameters
    ----------
    study : Study
        Whose store it is.
    kind, found
        One of `KINDS` and its value.
    plan : Plan
        Of the points that were run.
    beside : Beside, optional
        Of a map.
    """
    finding = Finding(kind, _about(study, plan), found, beside)
    told = {
        "about": _ABOUT.dump_python(finding.about),
        "found": _READERS[kind].dump_python(found),
        "beside": _BESIDE.dump_python(beside),
    }
    text = json.dumps(told, ensure_ascii=False, default=lambda x: x.tolist())
    study.store.put_finding(study.name, kind, text)
    return finding


def remember_points(study: Study) -> Finding:
    """Keep the points of a study as they are now."""
    results = study.points()
    counts: dict[str, int] = {}
    for result in results:
        counts[result.outcome] = counts.get(result.outcome, 0) + 1
    axes = tuple(axis_of(d) for d in study.plan.dimensions)
    return remember(study, "points", StudyPoints(axes, counts, results[:MOST]), study.plan)


def findings(store: Store) -> list[tuple[Kept, Finding]]:
    """Return what is kept in a store; of a study asked nothing else, its points.

    Raises
    ------
    InputError
        What is kept there cannot be read.
    """
    kept = store.findings()
    asked = {row.study for row in kept if row.kind != "points"}
    return [
        (row, _read(store, row)) for row in kept if row.kind != "points" or row.study not in asked
    ]


def _read(store: Store, row: Kept) -> Finding:
    try:
        told = json.loads(row.told)
        kind = next(kind for kind in KINDS if kind == row.kind)
        return Finding(
            kind,
            _ABOUT.validate_python(told["about"]),
            _READERS[kind].validate_python(told["found"]),
            _BESIDE.validate_python(told["beside"]),
        )
    except (ValidationError, ValueError, TypeError, KeyError, RecursionError, StopIteration) as bad:
        first = str(bad).splitlines()[0] if str(bad) else type(bad).__name__
        raise InputError(
            f"{store.path}: what was found of study '{row.study[:40]}' cannot be read "
            f"({first[:100]}); was the file changed, or made by another version?"
        ) from None


def _about(study: Study, plan: Plan) -> About:
    base = study.base
    return About(
        case=base.name,
        wall=base.wall.name,
        room=base.room_name,
        leaks=study.entry.leaks,
        points=len(plan.points),
        runs=len(plan.runs),
        distinct=len(plan.distinct),
        plan_sha256=plan.sha256,
        engine_sha256=engine_hash(),
        versions=dict(versions()),
        case_file=base.file,
        case_text=base.text,
        case_sha256=hashlib.sha256(base.text.encode()).hexdigest() if base.text else "",
        climates=tuple(sorted(plan.climates)),
        device=device_name(plan.device) or "cpu",
        declared_sha256=study.plan.sha256,
    )


_READERS: dict[str, TypeAdapter[Plain]] = {kind: TypeAdapter(k) for kind, k in KINDS.items()}
_ABOUT: TypeAdapter[About] = TypeAdapter(About)
_BESIDE: TypeAdapter[Beside | None] = TypeAdapter(Beside | None)
