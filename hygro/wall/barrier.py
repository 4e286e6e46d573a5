"""The water barrier of a wall, and where a leak lands that is said to act at a sheet.

Owns these two rules. A sheet holds no water: what acts at its outer or inner face acts at the face
of the layer there.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from typing import Any, NamedTuple

from hygro.errors import near_matches
from hygro.problems import Problem, RefusedError
from hygro.wall.elements import Gap, Layer, Membrane
from hygro.wall.leaks import BARRIER, Face, Leaks, RainLeak, Source

Elements = Sequence[Layer | Membrane | Gap]


class Place(NamedTuple):
    """A layer and one of its faces."""

    layer: str
    face: Face


def water_barrier(elements: Elements, sheathing: str | None = None) -> Membrane | None:
    """Return the sheet that keeps rain out; None without one.

    The outermost sheet called water barrier (a name with "water" and "barrier" in it), else the
    outermost sheet of the library's group "membrane". Sheets inward of `sheathing`, where one is
    named, and on the two surfaces of the wall are none.
    """
    names = [e.name for e in elements]
    last = names.index(sheathing) if sheathing in names else len(elements) - 1
    sheets = [e for e in elements[1:last] if isinstance(e, Membrane)]
    named = [e for e in sheets if all(word in e.name.lower() for word in BARRIER.split())]
    return next(iter([*named, *(e for e in sheets if e.material.group == "membrane")]), None)


def beside(elements: Elements, sheet: Membrane, face: Face) -> Place:
    """Return the face of a layer that water at one face of a sheet wets.

    The layer that touches the sheet there, other sheets between left out. Where air stands there
    the layer on the other side is taken: water on a sheet before a gap drains or dries, and what
    does not is counted against the layer behind.
    """
    at = next(i for i, e in enumerate(elements) if e is sheet)
    outward = next((e for e in elements[:at][::-1] if not isinstance(e, Membrane)), None)
    inward = next((e for e in elements[at + 1 :] if not isinstance(e, Membrane)), None)
    first, second = (outward, inward) if face == "outer" else (inward, outward)
    found = first if isinstance(first, Layer) else second
    if not isinstance(found, Layer):
        raise RefusedError(
            "", [Problem("leaks", f"'{sheet.name}' touches no layer: name a layer as `at`")]
        )
    return Place(found.name, "inner" if found is outward else "outer")


def placed(elements: Elements, leaks: Leaks, sheathing: str | None) -> Leaks:
    """Return the leaks with those at a sheet, or at the water barrier, at the face of a layer.

    Raises
    ------
    RefusedError
        The wall has no water barrier and a rain leak acts there.
    """
    sheets = {e.name: e for e in elements if isinstance(e, Membrane)}
    barrier = water_barrier(elements, sheathing)
    problems: list[Problem] = []

    def settled(source: Source, path: str) -> Source:
        if isinstance(source, RainLeak) and source.past_barrier is not None and barrier is None:
            problems.append(Problem(f"{path}.past_barrier", _none(elements)))
        layers = {e.name for e in elements if isinstance(e, Layer)}
        sheet = sheets.get(source.at, barrier if source.at == BARRIER else None)
        if source.at in layers or (sheet is None and source.at != BARRIER):
            return source
        if sheet is None:
            problems.append(Problem(f"{path}.at", _none(elements)))
            return source
        layer, face = beside(elements, sheet, source.face)
        return dataclasses.replace(source, at=layer, face=face)

    found: dict[str, Any] = {
        kind: tuple(
            settled(source, f"leaks.{kind}[{i}]") for i, source in enumerate(getattr(leaks, kind))
        )
        for kind in ("rain", "wetting", "air")
    }
    if problems:
        raise RefusedError("", problems)
    return dataclasses.replace(leaks, **found)


def _none(elements: Elements) -> str:
    layers = [e.name for e in elements if isinstance(e, Layer)]
    return (
        f"'{BARRIER}': the wall has no sheet of that name, and no membrane outward of the "
        "sheathing (layers go from outside to inside): say `at` which layer the water comes "
        f"({near_matches('', layers)})"
    )


def past_barrier(elements: Elements, leaks: Leaks, sheathing: str | None) -> Leaks | None:
    """Return the leaks of rain that gets past the water barrier; None where that is not asked.

    It wets the outer face of the layer behind the barrier, by the share `past_barrier` of each rain
    leak. None too where the rain leaks themselves are just that.
    """
    asked = [leak for leak in leaks.rain if leak.past_barrier is not None]
    barrier = water_barrier(elements, sheathing)
    if not asked or barrier is None:
        return None
    layer, face = beside(elements, barrier, "inner")
    rain = tuple(
        dataclasses.replace(leak, at=layer, face=face, fraction=leak.past_barrier or 0.0)
        for leak in asked
    )
    return None if rain == leaks.rain else dataclasses.replace(leaks, rain=rain, air=())
