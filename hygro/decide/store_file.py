"""The file of a store: one SQLite file, opened, checked, written by whole transactions, closed.

Owns its tables, and what is said of a file that cannot be used.
"""

from __future__ import annotations

import os
import socket
import sqlite3
import uuid
import weakref
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from pathlib import Path
from typing import Self

from hygro.errors import InputError, brief

SCHEMA = "hygro-study-2"
PATIENCE = 30.0
"""How long to wait for another process that writes. [s]"""
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
CREATE TABLE IF NOT EXISTS asked (
  study TEXT NOT NULL, sha256 TEXT NOT NULL, declared TEXT NOT NULL, PRIMARY KEY (study, sha256)
) WITHOUT ROWID;
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


class StoreFile:
    """The file, opened; closed when nothing holds it any more, as a `with` or the process ends.

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
        foreign = "SELECT type, name FROM sqlite_master WHERE type IN ('view', 'trigger')"
        for kind, name in self._base.execute(foreign):
            raise InputError(f"{self.path}: holds the {kind} {brief(name)}, which no store has")
        if self._base.execute("SELECT 1 FROM sqlite_master").fetchone() is not None:
            self._check()
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
                "to it; give another file as store"
            )
        row = self._base.execute("SELECT value FROM about WHERE key = 'schema'").fetchone()
        found = "none" if row is None else row[0]
        if found != SCHEMA:
            raise InputError(f"{self.path}: a store of another version ({found}, not {SCHEMA})")

    def _has(self, table: str) -> bool:
        """Whether a table is there; a store that is only read may be from before it was."""
        there = "SELECT 1 FROM sqlite_master WHERE name = ?"
        return self._base.execute(there, (table,)).fetchone() is not None

    def close(self) -> None:
        """Give claims back and close the file."""
        self._finalizer()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

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


def given_back(base: sqlite3.Connection, owner: str) -> None:
    """Give back what an owner claimed and did not make."""
    with suppress(sqlite3.Error):
        base.execute("DELETE FROM claim WHERE owner = ?", (owner,))


def _closed(base: sqlite3.Connection, owner: str) -> None:
    """Give claims back and put the log into the one file; not from a thread that may not."""
    given_back(base, owner)
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
        return "is no file, and a store is one; give another file as store"
    return f"the store cannot be used ({text})"


def _unopened(path: Path) -> str:
    """Say why a store cannot be opened or made, as far as the file system tells."""
    if path.is_dir():
        return "is a folder; a store is a file: give its name too"
    if not path.parent.is_dir():
        return f"there is no folder {path.parent}; make it, or give another file as store"
    if path.exists():
        return "the store cannot be opened; is it the file of another user?"
    return f"no file can be made in {path.parent}; may you write there? give another file as store"
