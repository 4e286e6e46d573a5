"""A factor on a property of a material: conductivity, vapour resistance, absorption, sorption.

Owns how each form of a curve takes a factor: the curve is multiplied as a whole.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from hygro.decide.base import Base, wall_of
from hygro.decide.slot import Slot
from hygro.decide.tree import Keys, Tables, changed
from hygro.errors import InputError, near_matches
from hygro.fields import number
from hygro.types import Plain
from hygro.wall.elements import Layer, Membrane

Scale = Callable[[Tables, float], Tables]
LOW, HIGH = 0.01, 100.0
"""Bounds of a factor. [1]"""


def factor_slot(name: str, parts: list[str | int], base: Base) -> Slot:
    """Return the slot of ``factor.ELEMENT.PROPERTY``, a factor on what the element is made of.

    Raises
    ------
    InputError
        No such element or property, a property that its material does not have, or a form of curve
        that takes no factor.
    """
    if len(parts) != 2:
        raise InputError(f"{name}: must look like factor.sheathing.vapour")
    element, wanted = map(str, parts)
    names = [e.name for e in base.wall.layers if isinstance(e, Layer | Membrane)]
    if element not in names:
        raise InputError(f"{name}: no element '{element}'; {near_matches(element, names)}")
    if wanted not in PROPERTIES:
        raise InputError(f"{name}: no property '{wanted}'; {near_matches(wanted, PROPERTIES)}")
    place = next(k for k, e in enumerate(base.wall.layers) if e.name == element)
    row = base.tables["wall"]["layers"][place]
    holder = "material" if "material" in row else "membrane"
    key = "permeance" if (holder, wanted) == ("membrane", "vapour") else PROPERTIES[wanted]
    curve = row[holder].get(key)
    if curve is None:
        raise InputError(f"{name}: the material of '{element}' has no {wanted}")
    scale = _scale(name, wanted, curve)

    def put(tables: Tables, x: float) -> Tables:
        layers = tables["wall"]["layers"]
        at = next((k for k, e in enumerate(layers) if e.get("name") == element), None)
        if at is None:  # left out by another value
            return tables
        keys: Keys = ("wall", "layers", at, holder, key)
        return changed(tables, keys, scale(layers[at][holder][key], x))

    def read(value: Plain) -> float:
        found = number(value)
        if not LOW <= found <= HIGH:
            raise InputError(f"{name}: {found:g}: must be {LOW:g} to {HIGH:g}; 1 changes nothing")
        try:
            wall_of(put(base.tables, found)["wall"], base.wall.name)
        except InputError as error:
            raise InputError(f"{name} = {found:g}: {str(error).splitlines()[0]}") from None
        return found

    return Slot(name, "", read, put, 1.0)


PROPERTIES = {
    "conductivity": "thermal",
    "vapour": "vapour",
    "absorption": "liquid",
    "sorption": "storage",
}
"""Properties that take a factor: λ, vapour resistance (μ, or 1/permeance), A, sorption."""
WORDS = {
    "conductivity": "thermal conductivity",
    "vapour": "vapour resistance",
    "absorption": "water absorption",
    "sorption": "sorption",
}
"""What a designer calls them."""


def factor_words(parts: list[str | int]) -> str:
    """Return the words of an element and a property, for axes and tables."""
    element, wanted = map(str, parts)
    return f"{element}: {WORDS[wanted]} (factor)"


def _scale(name: str, wanted: str, curve: Tables) -> Scale:
    form = curve.get("form", "")
    known = _FORMS[wanted]
    if form not in known:
        told = ", ".join(known)
        raise InputError(f"{name}: a curve of the form '{form}' takes no factor; {told} do")
    return known[form]


def _times(*keys: str, power: float = 1.0) -> Scale:
    def scale(curve: Tables, x: float) -> Tables:
        return {**curve, **{k: curve[k] * x**power for k in keys}}

    return scale


def _points(key: str = "points", *, power: float = 1.0) -> Scale:
    def scale(curve: Tables, x: float) -> Tables:
        rows = [[at, value * x**power] for at, value in curve[key]]
        return {**curve, key: rows}

    return scale


def _exponential(curve: Tables, x: float) -> Tables:
    """δ = exp(b0 + ...): a factor on its resistance is a term of b0."""
    return {**curve, "b0": curve["b0"] - math.log(x)}


def _table_storage(curve: Tables, x: float) -> Tables:
    """The sorption points; free saturation stays."""
    return {**curve, "rh": [[rh, w * x] for rh, w in curve["rh"]]}


_FORMS: dict[str, dict[str, Scale]] = {
    "conductivity": {
        "constant": _times("value"),
        "linear": _times("dry", "per_water"),
        "table": _points(),
    },
    "vapour": {
        "mu": _times("mu"),
        "mu-dry-wet": _times("dry", "wet"),
        "permeability-table": _points(power=-1.0),
        "perm-table": _points(power=-1.0),
        "exponential": _exponential,
        "power": _times("low", power=-1.0),
        "benchmark": _times("mu"),
        "permeability": _times("value", power=-1.0),
        "perm": _times("perm", power=-1.0),
        "permeance": _times("value", power=-1.0),
        "sd": _times("sd"),
    },
    # liquid conductivity and diffusivity both go with the square of the absorption coefficient
    "absorption": {
        "absorption": _times("a"),
        "diffusivity-constant": _times("value", power=2.0),
        "diffusivity-table": _points(power=2.0),
        "conductivity-table": _points(power=2.0),
        "conductivity-suction-table": _points(power=2.0),
        "conductivity-power": _times("saturated", power=2.0),
    },
    "sorption": {
        "table": _table_storage,
        "wood-sorption": _times("scale"),
        "linear": _times("slope"),
    },
}
