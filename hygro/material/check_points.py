"""Points of tabulated curves: order, range and unit. Owns the checks of what the user typed.

Works on the typed points before any curve is drawn through them, so that the message can name
the very value.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from math import log10

from hygro.declare import field_infos
from hygro.material.curves import SUCTION_PER_S, Points, s_of_rh
from hygro.material.points import Axes, Axis
from hygro.material.storage import TableStorage
from hygro.problems import refuse

_CURVES = ("storage", "vapour", "thermal", "liquid", "permeance")


def check_points(material: object) -> None:
    """Raise if the points of any table are out of order or range.

    Raises
    ------
    RefusedError
        Naming the key, the value, the bound and the likely cause.
    """
    for kind in _CURVES:
        form = getattr(material, kind, None)
        if form is None:
            continue
        for key, axes, points in _curves(form):
            if axes.rising and points is not None:
                _check_axis(points, axes.x, f"{kind}.{key}")
        if form.form in ("permeability-table", "perm-table"):
            _check_ordinates(form.points, f"{kind}.points")
        for mode in getattr(form, "modes", ()):
            _check_mode(mode, f"{kind}.modes")
        if isinstance(form, TableStorage):
            _check_storage_points(form)


def _curves(form: object) -> Iterator[tuple[str, Axes, Points]]:
    """Fields of a form that hold points, with their axes."""
    for name, field in field_infos(type(form)).items():
        for axes in (item for item in field.metadata if isinstance(item, Axes)):
            yield name, axes, getattr(form, name)


def _check_axis(points: Points, axis: Axis, place: str) -> None:
    if not points:
        refuse(place, "needs at least one point")
    low, high = (log10(x) if axis.log10 else x for x in (axis.low, axis.high))
    name = f"log10 {axis.name}" if axis.log10 else axis.name
    for x, *_ in points:
        if not low <= x <= high:
            refuse(place, f"{name} = {x:g}: must be {low:g}–{high:g}; {axis.cause}")
    for (x0, *_), (x1, *_) in pairwise(points):
        if x1 <= x0:
            refuse(
                place,
                f"{name} = {x1:g} after {x0:g}: must rise strictly; "
                "are the points out of order or doubled?",
            )


def _check_ordinates(points: Points, place: str) -> None:
    for rh, value in points:
        if value <= 0.0:
            refuse(
                place,
                f"{value:g} at rh = {rh:g}: must be positive; give a small value if tight",
            )


def _check_mode(mode: tuple[float, ...], place: str) -> None:
    share, a, n, *_ = (*mode, 0.0, 0.0)
    if len(mode) not in (3, 4) or share <= 0.0 or a <= 0.0 or n <= 1.0:
        refuse(
            place,
            f"{list(mode)}: must be [share, a, n] or [share, a, n, m] with share and a "
            "positive and n above 1; is a in 1/Pa (or 1/m in the form over head)?",
        )


def _check_storage_points(table: TableStorage) -> None:
    rows = [(f"rh = {rh:g}", w) for rh, w in table.rh]
    for p, _ in table.suction:
        if p <= 0.0:
            refuse(
                "storage.suction",
                f"{p:g}: must be positive; give suction in Pa, "
                "and the water content at zero suction as w_free",
            )
    rows += [(f"suction = {p:g} Pa", w) for p, w in sorted(table.suction, reverse=True)]
    rows.append(("w_free", table.w_free))
    if rows[0][1] < 0.0:
        refuse("storage", f"w = {rows[0][1]:g} kg/m³ at {rows[0][0]}: must not be negative")
    for (before, w0), (after, w1) in pairwise(rows):
        if w1 < w0:
            refuse(
                "storage",
                f"w = {w1:g} kg/m³ at {after} after {w0:g} at {before}: water content "
                "must rise towards saturation; is a point misread or w_free too small?",
            )
    _check_join(table)


def _check_join(table: TableStorage) -> None:
    if not table.suction:
        return
    driest = max(p for p, _ in table.suction)
    if table.rh and driest / SUCTION_PER_S >= float(s_of_rh(table.rh[-1][0])):
        refuse(
            "storage.suction",
            f"{driest:g}: must be wetter than the last rh point, {table.rh[-1][0]:g}; "
            "give suction in Pa",
        )
