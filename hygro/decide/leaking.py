"""Leaks of rain and of air by their amount. Owns how a value reaches every leak."""

from __future__ import annotations

from collections.abc import Callable

from hygro.decide.base import Base
from hygro.decide.slot import Put
from hygro.decide.tree import Keys, Tables, changed
from hygro.errors import InputError, near_matches


def rain_leak(name: str, base: Base, at: str | None) -> Put:
    """Set the fraction of every rain leak, or of those at one layer."""
    return _every_leak(name, base, at, "rain", lambda row, x: {**row, "fraction": x})


def air_leak(name: str, base: Base, at: str | None) -> Put:
    """Set the rate of every air leak; one that follows pressure becomes constant."""

    def set_rate(row: Tables, x: float) -> Tables:
        return {**{k: v for k, v in row.items() if k != "permeance"}, "rate": x}

    return _every_leak(name, base, at, "air", set_rate)


def _every_leak(
    name: str, base: Base, at: str | None, kind: str, set_one: Callable[[Tables, float], Tables]
) -> Put:
    rows = base.tables["wall"]["leaks"][kind]
    if not rows:
        raise InputError(f"{name}: wall '{base.wall.name}' has no {kind} leak to vary")
    if at is not None and at not in [row["at"] for row in rows]:
        known = near_matches(at, [row["at"] for row in rows])
        raise InputError(f"{name}: at = '{at}': no {kind} leak there; {known}")
    place: Keys = ("wall", "leaks", kind)

    def put(tables: Tables, x: float) -> Tables:
        rows = tables["wall"]["leaks"][kind]
        found = [set_one(r, x) if at in (None, r["at"]) else r for r in rows]
        return changed(tables, place, found)

    return put


def leak_now(kind: str, key: str) -> Callable[[str, Base, str | None], float | None]:
    """Return the reader of what the first leak has, as written."""

    def now(_name: str, base: Base, at: str | None) -> float | None:
        rows = base.tables["wall"]["leaks"][kind]
        return next((row.get(key) for row in rows if at in (None, row["at"])), None)

    return now
