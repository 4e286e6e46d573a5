"""Which element of a wall a name of the trade means. Owns that choice."""

from __future__ import annotations

from hygro.decide.base import Base
from hygro.decide.tree import Tables
from hygro.errors import InputError, near_matches
from hygro.study.hand import judged_layer


def one_of(name: str, base: Base, found: list[int], at: str | None, what: str) -> int:
    """Return the place that is meant of those found; raises `InputError` for none and several."""
    names = [base.wall.layers[k].name for k in found]
    if at is not None:
        if at not in names:
            raise InputError(f"{name}: at = '{at}': no {what}; {near_matches(at, names)}")
        return found[names.index(at)]
    if not found:
        raise InputError(f"{name}: wall '{base.wall.name}' has no {what}")
    if len(found) > 1:
        told = ", ".join(f"'{x}'" for x in names)
        raise InputError(f"{name}: which {what}? say at = one of {told}")
    return found[0]


def sheathing_of(base: Base) -> int:
    """Return the place of the layer that is judged as sheathing."""
    name = judged_layer(base.wall)
    return next(k for k, e in enumerate(base.wall.layers) if e.name == name)


def number_of(tables: Tables, name: str) -> int:
    """Return the place of an element in the tables of a run."""
    layers = tables["wall"]["layers"]
    return next(k for k, e in enumerate(layers) if name in (e.get("name"), e.get("gap")))
