"""The store of studies: one SQLite file with plans and finished runs. Owns its tables and locks.

A run is known by the hash of all it depends on: the same run is computed once, whatever study asks
for it; after a change of case or engine the hashes differ, and what was stored stays beside, never
mixed in. The runs of a batch, which end together, are one transaction in write-ahead mode: whatever
ends a process, what it had finished is there. Several processes may work on one store: a run is
claimed before it is made, and a claim ends with its process. A result carries a checksum of its
own: one that was changed since is not used, and is made again.
"""

from __future__ import annotations

import hashlib
import json
import math
import os
import socket
import sqlite3
import time
import uuid
import weakref
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import closing, contextmanager, suppress
from dataclasses import fields
from pathlib import Path
from typing import NamedTuple

from hygro.decide.engine import engine_hash
from hygro.decide.plan import Plan
from hygro.decide.rate import Row
from hygro.errors import InputError, brief, near_matches
from hygro.types import Data, Plain

SCHEMA = "hygro-study-2"
PATIENCE = 30.0
"""How long to wait for another process that writes. [s]"""
LEASE = 90.0
"""A claim of a process elsewhere that was not renewed for so long has ended. [s]"""
_TABLES = """
CREATE TABLE IF NOT EXISTS about (key TEXT PRIMARY KEY, value TEXT NOT NULL) WITHOUT ROWID;
CREATE TABLE IF NOT EXISTS study (
  name TEXT PRIMARY KEY, case_name TEXT NOT NULL, wall TEXT NOT NULL, plan_sha256 TEXT NOT NULL,
  engine TEXT NOT NULL, spec TEXT NOT NULL, made REAL NOT NULL
) WITHOUT ROWID;
CREATE TABLE IF NOT EXISTS run (
  study TEXT NOT NULL, number INTEGER NOT NULL, point INTEGER NOT NULL, scenario TEXT NOT NULL,
  sha256 TEXT NOT NULL, PRIMARY KEY (study, number)
) WITHOUT ROWID;
CREATE INDEX IF NOT EXISTS run_by_hash ON run (sha256);
CREATE TABLE IF NOT EXISTS result (
  sha256 TEXT PRIMARY KEY, state TEXT NOT NULL, outcome TEXT NOT NULL, passed INTEGER, margin REAL,
  decides TEXT NOT NULL, reason TEXT NOT NULL, numbers TEXT NOT NULL, criteria TEXT NOT NULL,
  quality TEXT NOT NULL, digests TEXT NOT NULL, error TEXT NOT NULL, years REAL NOT NULL,
  seconds REAL NOT NULL, engine TEXT NOT NULL, made REAL NOT NULL, seal TEXT NOT NULL
) WITHOUT ROWID;
CREATE TABLE IF NOT EXISTS finding (
  study TEXT NOT NULL, kind TEXT NOT NULL, told TEXT NOT NULL, made REAL NOT NULL,
  PRIMARY KEY (study, kind)
) WITHOUT ROWID;
CREATE TABLE IF NOT EXISTS claim (
  sha256 TEXT PRIMARY KEY, owner TEXT NOT NULL, renewed REAL NOT NULL
) WITHOUT ROWID;
"""
_OWN = {"about", "study", "run", "result"}
"""Tables that every store has had since the first version."""


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
    stale : int
        Results in the store that no plan in it asks for.
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
    plan_sha256 : str
        Of the plan that the study has now.
    told : str
        JSON.
    made : float
        When, since 1970. [s]
    """

    study: str
    kind: str
    plan_sha256: str
    told: str
    made: float


class Store:
    """A store, opened; closed when nothing holds it any more, as a `with` or the process ends.

    Parameters
    ----------
    path : Path
        The file; made where it is not there.
    read_only : bool
        Neither made nor changed.

    Raises
    ------
    InputError
        The file is no store, is of another version, holds what no store has, is locked, or cannot
        be written.
    """

    def __init__(self, path: Path, *, read_only: bool = False) -> None:
        self.path = path
        self.owner = f"{socket.gethostname()}:{os.getpid()}:{uuid.uuid4().hex[:8]}"
        with self._told():
            place = f"{path.absolute().as_uri()}?mode=rw" if read_only else path
            self._base = sqlite3.connect(
                place, uri=read_only, timeout=PATIENCE, isolation_level=None
            )
            self._finalizer = weakref.finalize(self, _closed, self._base, self.owner)
            if read_only:  # by words, as a file opened so would leave its log beside it
                self._base.execute("PRAGMA query_only = ON")
                self._check()
            else:
                self._open()

    def _open(self) -> None:
        self._base.execute("PRAGMA trusted_schema = OFF")
        if self._base.execute("SELECT 1 FROM sqlite_master").fetchone() is not None:
            self._check()
        foreign = "SELECT type, name FROM sqlite_master WHERE type IN ('view', 'trigger')"
        for kind, name in self._base.execute(foreign):
            raise InputError(f"{self.path}: holds the {kind} {brief(name)}, which no store has")
        self._base.execute("PRAGMA journal_mode = WAL")
        self._base.execute("PRAGMA synchronous = FULL")  # a transaction survives a power cut
        with self._writing():
            for statement in _TABLES.split(";"):
                self._base.execute(statement)
            self._base.execute("INSERT OR IGNORE INTO about VALUES ('schema', ?)", (SCHEMA,))
        self._check()  # another process may have made it meanwhile

    def _check(self) -> None:
        """Refuse what is no store, or one of another version: nothing is written to it."""
        tables = "SELECT name FROM sqlite_master WHERE type = 'table'"
        if not {name for (name,) in self._base.execute(tables)} >= _OWN:
            raise InputError(
                f"{self.path}: is an SQLite file, but no store of studies, so nothing is written "
                "to it; give another --store"
            )
        row = self._base.execute("SELECT value FROM about WHERE key = 'schema'").fetchone()
        found = "none" if row is None else row[0]
        if found != SCHEMA:
            raise InputError(f"{self.path}: a store of another version ({found}, not {SCHEMA})")

    def close(self) -> None:
        """Give claims back and close the file."""
        self._finalizer()

    def __enter__(self) -> Store:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    # Plans

    def put_plan(self, name: str, plan: Plan, spec: Mapping[str, Plain]) -> bool:
        """Store the plan of a study; False where the very same is there already.

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
            if there is not None and there[2] == plan.sha256:
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
            (stale,) = self._base.execute(
                "SELECT count(*) FROM result WHERE sha256 NOT IN (SELECT sha256 FROM run)"
            ).fetchone()
        return Status(runs, distinct, done, wrong, claimed, stale, seconds, years)

    # What commands found

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
            there = self._base.execute("SELECT 1 FROM sqlite_master WHERE name = 'finding'")
            if there.fetchone() is None:  # a store from before findings were kept
                return []
            rows = self._base.execute(
                "SELECT finding.study, kind, plan_sha256, told, finding.made FROM finding "
                "JOIN study ON study.name = finding.study ORDER BY finding.study, kind"
            )
            return [Kept(*row) for row in rows]

    # Runs

    def finished(self, wanted: Iterable[str]) -> set[str]:
        """Those of some runs that have a result."""
        with self._told():
            known = {sha for (sha,) in self._base.execute("SELECT sha256 FROM result")}
        return known & set(wanted)

    def claim(self, wanted: Sequence[str]) -> list[str]:
        """Claim runs for this process; returns those that nobody else makes or has made."""
        now = time.time()
        with self._told(), self._writing():
            self._free_claims(now)
            self._base.executemany(
                "INSERT OR IGNORE INTO claim VALUES (?, ?, ?)",
                ((sha, self.owner, now) for sha in wanted),
            )
            got = []
            for sha in wanted:
                held = "SELECT owner FROM claim WHERE sha256 = ?"
                made = "SELECT 1 FROM result WHERE sha256 = ?"
                mine = self._base.execute(held, (sha,)).fetchone() == (self.owner,)
                if mine and self._base.execute(made, (sha,)).fetchone() is None:
                    got.append(sha)
                elif mine:
                    self._base.execute("DELETE FROM claim WHERE sha256 = ?", (sha,))
            return got

    def _free_claims(self, now: float) -> None:
        """Free what processes held that have ended."""
        rows = self._base.execute("SELECT owner, max(renewed) FROM claim GROUP BY owner")
        for owner, renewed in rows.fetchall():
            age = now - renewed if isinstance(renewed, float) else LEASE + 1.0
            if owner != self.owner and _ended(owner, age):
                self._base.execute("DELETE FROM claim WHERE owner = ?", (owner,))

    def renew(self) -> None:
        """Say that this process still works on what it claimed."""
        with self._told(), self._writing():
            self._base.execute(
                "UPDATE claim SET renewed = ? WHERE owner = ?", (time.time(), self.owner)
            )

    def release(self) -> None:
        """Give back what this process claimed and did not make."""
        _given_back(self._base, self.owner)

    def put(self, *rows: Row) -> None:
        """Store runs that ended together, in one transaction; one that is there stays."""
        values = [[_plain(getattr(row, key)) for key in _KEYS] for row in rows]
        sealed = [(*found, engine_hash(), time.time(), _seal(found)) for found in values]
        names = ", ".join([*_KEYS, "engine", "made", "seal"])
        marks = ", ".join("?" * (len(_KEYS) + 3))
        with self._told(), self._writing():
            self._base.executemany(
                f"INSERT OR IGNORE INTO result ({names}) VALUES ({marks})", sealed
            )
            self._base.executemany(
                "DELETE FROM claim WHERE sha256 = ?", ((row.sha256,) for row in rows)
            )

    def forget_failed(self, wanted: Iterable[str]) -> int:
        """Remove failed runs, so that they are made again; returns how many there were."""
        with self._told(), self._writing():
            gone = self._base.executemany(
                "DELETE FROM result WHERE sha256 = ? AND state = 'failed'",
                ((sha,) for sha in wanted),
            )
            return max(gone.rowcount, 0)

    def forget_damaged(self, wanted: Iterable[str]) -> int:
        """Remove results that are not as they were stored; returns how many there were."""
        names = set(wanted)
        with self._told(), self._writing():
            gone = [(v[0],) for v, whole in self._results() if v[0] in names and not whole]
            self._base.executemany("DELETE FROM result WHERE sha256 = ?", gone)
        return len(gone)

    def rows(self, wanted: Iterable[str]) -> dict[str, Row]:
        """Finished runs by their hash; raises `InputError` where one is damaged."""
        names, found = set(wanted), {}
        with self._told():
            for values, whole in self._results():
                if values[0] in names:
                    if not whole:
                        raise InputError(
                            f"{self.path}: the result of run {values[0][:10]} is damaged or was "
                            "changed; 'hygro study resume' makes it again"
                        )
                    found[values[0]] = _row(dict(zip(_KEYS, values, strict=True)))
        return found

    def _results(self) -> Iterator[tuple[tuple[Plain, ...], bool]]:
        """Values of each result, and whether they are those that were stored."""
        for *values, seal in self._base.execute(f"SELECT {', '.join(_KEYS)}, seal FROM result"):
            yield tuple(values), seal == _seal(values)

    @contextmanager
    def _writing(self) -> Iterator[None]:
        """One transaction: all of it, or none."""
        self._base.execute("BEGIN IMMEDIATE")
        try:
            yield
        except BaseException:
            with suppress(sqlite3.Error):
                self._base.execute("ROLLBACK")
            raise
        self._base.execute("COMMIT")

    @contextmanager
    def _told(self) -> Iterator[None]:
        """What SQLite refuses, in words, with what can be done."""
        try:
            yield
        except sqlite3.DatabaseError as error:
            raise InputError(f"{self.path}: {_words(error, self.path)}") from error


def holds_nothing(path: Path) -> bool:
    """Whether a file is not there or empty: another process may be about to make a store of it."""
    if not path.exists():
        return True
    try:
        place = f"{path.absolute().as_uri()}?mode=rw"
        with closing(sqlite3.connect(place, uri=True, timeout=PATIENCE)) as base:
            base.execute("PRAGMA query_only = ON")
            return base.execute("SELECT name FROM sqlite_master").fetchone() is None
    except sqlite3.Error:  # whoever opens it says what it is
        return False


def _given_back(base: sqlite3.Connection, owner: str) -> None:
    with suppress(sqlite3.Error):
        base.execute("DELETE FROM claim WHERE owner = ?", (owner,))


def _closed(base: sqlite3.Connection, owner: str) -> None:
    """Give claims back and put the log into the one file; not from a thread that may not."""
    _given_back(base, owner)
    with suppress(sqlite3.Error):
        base.close()


def _words(error: sqlite3.DatabaseError, path: Path) -> str:
    text = str(error)
    if "locked" in text or "busy" in text:
        return (
            f"the store was locked by another program for {PATIENCE:.0f} s; let it end, the "
            "finished runs are kept and the same command goes on"
        )
    if "full" in text:
        return "the disk is full; the finished runs are kept: make room, the same command goes on"
    if "not a database" in text or "malformed" in text:
        return "is not a store of studies; is it another file, or damaged?"
    if "unable to open" in text:
        return _unopened(path)
    if "readonly" in text:
        return "the store may not be written"
    if path.exists() and not path.is_file():
        return "is no file, and a store is one; give another --store"
    return f"the store cannot be used ({text})"


def _unopened(path: Path) -> str:
    """Say why a store cannot be opened or made, as far as the file system tells."""
    if path.is_dir():
        return "is a folder; a store is a file: give its name too"
    if not path.parent.is_dir():
        return f"there is no folder {path.parent}; make it, or give another --store"
    if path.exists():
        return "the store cannot be opened; is it the file of another user?"
    return f"no file can be made in {path.parent}; may you write there? give another --store"


def _ended(owner: str, age: float) -> bool:
    try:
        host, pid, _ = owner.rsplit(":", 2)
        if host == socket.gethostname():
            os.kill(int(pid), 0)
    except (ProcessLookupError, AttributeError, ValueError):  # gone, or nobody's claim
        return True
    except (OSError, OverflowError):
        pass
    return age > LEASE


_KEYS = [f.name for f in fields(Row)]


def _seal(values: Iterable[Plain]) -> str:
    """SHA-256 of the values of a result, as SQLite gives them back."""
    text = json.dumps([_as_stored(x) for x in values], default=repr)
    return hashlib.sha256(text.encode("utf-8", "backslashreplace")).hexdigest()


def _as_stored(value: Plain) -> Plain:
    if isinstance(value, int | float):
        return None if math.isnan(value) else float(value)
    return value


def _plain(value: Plain) -> Plain:
    if isinstance(value, Mapping):
        return json.dumps(value, ensure_ascii=False, sort_keys=True, default=_number)
    return int(value) if isinstance(value, bool) else value


def _number(value: Plain) -> Plain:
    return value.item() if hasattr(value, "item") else str(value)


def _row(values: Data) -> Row:
    for key in ("numbers", "criteria", "quality", "digests"):
        values[key] = json.loads(values[key])
    values["passed"] = None if values["passed"] is None else bool(values["passed"])
    return Row(**values)


def stored_device(file: Path, name: str) -> str:
    """What marches a study as its store has it; the processor where nothing is stored."""
    if holds_nothing(file):
        return "cpu"
    with Store(file, read_only=True) as store:
        return str(store.spec(name).get("device", "cpu"))
