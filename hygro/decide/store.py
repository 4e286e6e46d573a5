"""The store of studies: one SQLite file with plans and finished runs.

The same run is computed once, whatever study asks for it; after a change of case or engine the
hashes differ, and what was stored stays beside, never mixed in. The runs of a batch, which end
together, are one transaction in write-ahead mode: whatever ends a process, what it had finished is
there. Several processes may work on one store.
"""

from __future__ import annotations

import json
import time
from collections.abc import Mapping
from pathlib import Path
from typing import NamedTuple

from hygro.decide.engine import engine_hash
from hygro.decide.plan import Plan
from hygro.decide.store_file import holds_nothing
from hygro.decide.store_runs import StoredRuns
from hygro.errors import InputError, near_matches
from hygro.types import Data, Plain


class Status(NamedTuple):
    """How far a study is.

    Attributes
    ----------
    runs, distinct : int
        Of its plan, and how many of them differ.
    done, failed : int
        Of those that differ.
    claimed : int
        Being made now, by any process.
    other : int
        Results in the store for other questions to studies that have not changed since.
    stale : int
        Results in the store that no study in it, as it is now, asks for.
    seconds : float
        Time of all cores spent on what is finished. [s]
    years : float
        Of one wall, finished. [a]
    """

    runs: int
    distinct: int
    done: int
    failed: int
    claimed: int
    other: int
    stale: int
    seconds: float
    years: float

    @property
    def left(self) -> int:
        """Runs to be made."""
        return self.distinct - self.done - self.failed


class Kept(NamedTuple):
    """What a command found of a study, as it is stored.

    Attributes
    ----------
    study, kind : str
        Whose it is, and of which kind (`hygro.decide.finding.KINDS`).
    plan_sha256, declared_sha256 : str
        Of the plan that the study has now, and of its plan as declared; empty where a store of an
        earlier version holds none.
    told : str
        JSON.
    made : float
        When, since 1970. [s]
    """

    study: str
    kind: str
    plan_sha256: str
    declared_sha256: str
    told: str
    made: float


class Store(StoredRuns):
    """Plans of studies, their runs, and what commands found of them; see `StoreFile`."""

    def put_plan(
        self, name: str, plan: Plan, spec: Mapping[str, Plain], declared: Plan | None = None
    ) -> bool:
        """Store the plan of a study; False where the very same is there already.

        What other questions to the study asked for stays known as long as the plan that it
        declares (left out: this plan) is the same.

        Raises
        ------
        InputError
            A study of this name belongs to another case.
        """
        with self._told(), self._writing():
            there = self._base.execute(
                "SELECT case_name, wall, plan_sha256 FROM study WHERE name = ?", (name,)
            ).fetchone()
            if there is not None and there[0] != plan.base.name:
                raise InputError(
                    f"{self.path}: its study '{name}' belongs to another case, '{there[0]}' and "
                    f"not '{plan.base.name}'; choose another --store or another name"
                )
            known = self._ask(name, plan, (declared or plan).sha256)
            if known and there is not None and there[2] == plan.sha256:
                return False
            self._base.execute("DELETE FROM run WHERE study = ?", (name,))
            self._base.execute(
                "INSERT OR REPLACE INTO study VALUES (?, ?, ?, ?, ?, ?, ?)",
                (name, plan.base.name, plan.base.wall.name, plan.sha256, engine_hash(),
                 json.dumps(spec, ensure_ascii=False, default=str), time.time()),
            )  # fmt: skip
            self._base.executemany(
                "INSERT INTO run VALUES (?, ?, ?, ?, ?)",
                ((name, r.number, r.point, r.scenario, r.sha256) for r in plan.runs),
            )
            return True

    def put_beside(self, name: str, plan: Plan, declared: Plan) -> None:
        """Note runs that a question to a study asks for beside its plan."""
        with self._told(), self._writing():
            self._ask(name, plan, declared.sha256)

    def _ask(self, name: str, plan: Plan, declared: str) -> bool:
        """Note what a study asks for as it is declared; whether nothing of it is new."""
        gone = self._base.execute(
            "DELETE FROM asked WHERE study = ? AND declared != ?", (name, declared)
        )
        added = self._base.executemany(
            "INSERT OR IGNORE INTO asked VALUES (?, ?, ?)",
            ((name, run.sha256, declared) for run in plan.runs),
        )
        return gone.rowcount + added.rowcount == 0

    def studies(self) -> list[str]:
        """Names of the studies in the store."""
        with self._told():
            return [n for (n,) in self._base.execute("SELECT name FROM study ORDER BY name")]

    def spec(self, name: str) -> Data:
        """The table of a study as it was put there; empty where none is."""
        with self._told():
            row = self._base.execute("SELECT spec FROM study WHERE name = ?", (name,)).fetchone()
        try:
            return {} if row is None else dict(json.loads(row[0]))
        except (ValueError, TypeError):
            raise InputError(f"{self.path}: the table of its study '{name}' is damaged") from None

    def status(self, name: str) -> Status:
        """How far a study is; raises `InputError` where the store has none of that name."""
        if name not in self.studies():
            known = near_matches(name, self.studies())
            raise InputError(f"{self.path}: no study '{name}' was started here; {known}")
        mine = "SELECT DISTINCT sha256 FROM run WHERE study = ?"
        with self._told():
            runs, distinct = self._base.execute(
                "SELECT count(*), count(DISTINCT sha256) FROM run WHERE study = ?", (name,)
            ).fetchone()
            done, wrong, seconds, years = self._base.execute(
                "SELECT coalesce(sum(state = 'done'), 0), coalesce(sum(state = 'failed'), 0), "
                "coalesce(sum(seconds), 0), coalesce(sum(years), 0) "
                f"FROM result WHERE sha256 IN ({mine})",
                (name,),
            ).fetchone()
            (claimed,) = self._base.execute(
                f"SELECT count(*) FROM claim WHERE sha256 IN ({mine})", (name,)
            ).fetchone()
            other, stale = self._beside()
        return Status(runs, distinct, done, wrong, claimed, other, stale, seconds, years)

    def _beside(self) -> tuple[int, int]:
        """Results that no plan asks for: those of other questions, and those of nobody."""
        unplanned = "SELECT count(*) FROM result WHERE sha256 NOT IN (SELECT sha256 FROM run)"
        (count,) = self._base.execute(unplanned).fetchone()
        if not self._has("asked"):
            return 0, int(count)
        (other,) = self._base.execute(
            f"{unplanned} AND sha256 IN (SELECT sha256 FROM asked)"
        ).fetchone()
        return int(other), int(count - other)

    def put_finding(self, study: str, kind: str, told: str) -> None:
        """Keep what a command found of a study, in the place of an earlier finding of its kind."""
        with self._told(), self._writing():
            self._base.execute(
                "INSERT OR REPLACE INTO finding VALUES (?, ?, ?, ?)",
                (study, kind, told, time.time()),
            )

    def findings(self) -> list[Kept]:
        """What commands found of all studies in the store."""
        with self._told():
            if not self._has("finding"):
                return []
            asked = "SELECT declared FROM asked WHERE asked.study = study.name LIMIT 1"
            declared = f"coalesce(({asked}), '')" if self._has("asked") else "''"
            rows = self._base.execute(
                f"SELECT finding.study, kind, plan_sha256, {declared}, told, finding.made "
                "FROM finding JOIN study ON study.name = finding.study "
                "ORDER BY finding.study, kind"
            )
            return [Kept(*row) for row in rows]


def stored_spec(file: Path, name: str) -> Data:
    """The table of a study as a store has it; empty where nothing is stored."""
    if holds_nothing(file):
        return {}
    with Store(file, read_only=True) as store:
        return store.spec(name)
