"""Runs in a store: who makes which, and the results with a checksum each.

A run is known by the hash of all it depends on. It is claimed before it is made, and a claim ends
with its process. A result that was changed since it was stored is not used, and is made again.
"""

from __future__ import annotations

import hashlib
import json
import math
import os
import socket
import time
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import fields

from hygro.decide.engine import engine_hash
from hygro.decide.rate import Row
from hygro.decide.store_file import StoreFile, given_back
from hygro.errors import InputError
from hygro.types import Data, Plain

LEASE = 90.0
"""A claim of a process elsewhere that was not renewed for so long has ended. [s]"""


class StoredRuns(StoreFile):
    """The runs that studies ask for, by their hashes."""

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
        given_back(self._base, self.owner)

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
