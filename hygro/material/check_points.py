"""Points of tabulated curves: order, range and unit. Owns the checks of what the user typed.

Works on the typed points before any curve is drawn through them, so that the message can name
the very value.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from hygro.material.curves import SUCTION_PER_S, s_of_rh
from hygro.material.storage import TableStorage
from hygro.problems import refuse

_CURVES = ("storage", "vapour", "thermal", "liquid", "permeance")


@dataclass(frozen=True)
class _Axis:
    """What the abscissa of a table is, with its range and what a wrong value hints at."""

    name: str
    least: float
    most: float
    cause: str


_RH = _Axis("rh", 0.0, 1.0, "is it in percent?")
_W = _Axis("w", 0.0, 1000.0, "water content is in kg/m³")
_LOG_P = _Axis("log10 suction", -3.0, 12.0, "is it the suction itself? take its log10, in Pa")
_T = _Axis("T", 200.0, 400.0, "temperatures are in K; is it in °C?")

_AXES: dict[tuple[str, str], _Axis] = {
    ("permeability-table", "points"): _RH,
    ("perm-table", "points"): _RH,
    ("conductivity-table", "points"): _W,
    ("diffusivity-table", "points"): _W,
    ("conductivity-suction-table", "points"): _LOG_P,
}


def check_points(material: Any) -> None:
    """Raise if the points of any table are out of order or range, or a parameter is not positive.

    Raises
    ------
    RefusedError
        Naming the key, the value, the bound and the likely cause.
    """
    for kind in _CURVES:
        form = getattr(material, kind, None)
        if form is None:
            continue
        for key, axis, points in _tables(kind, form):
            _check_axis(points, axis, f"{kind}.{key}")
        _check_parameters(form, kind)
        if isinstance(form, TableStorage):
            _check_storage_points(form)


def _tables(kind: str, form: Any) -> Iterator[tuple[str, _Axis, Any]]:
    if kind == "storage" and hasattr(form, "rh"):
        yield "rh", _RH, form.rh
    if kind == "thermal" and form.temperature_factor is not None:
        yield "temperature_factor", _T, form.temperature_factor
    if kind == "thermal" and form.form == "table":
        yield "points", _W, form.points
    axis = _AXES.get((form.form, "points"))
    if axis is not None:
        yield "points", axis, form.points


def _check_axis(points: Any, axis: _Axis, place: str) -> None:
    if not points:
        refuse(place, "needs at least one point")
    for x, *_ in points:
        if not axis.least <= x <= axis.most:
            bound = f"{axis.least:g}–{axis.most:g}"
            refuse(place, f"{axis.name} = {x:g}: must be {bound}; {axis.cause}")
    for (x0, *_), (x1, *_) in pairwise(points):
        if x1 <= x0:
            refuse(
                place,
                f"{axis.name} = {x1:g} after {x0:g}: must rise strictly; "
                "are the points out of order or doubled?",
            )


_LEAST: dict[str, dict[str, float]] = {
    "table": {"w_free": 0.0},
    "van-genuchten": {"w_s": 0.0},
    "van-genuchten-head": {"w_s": 0.0},
    "b-form": {"w_free": 0.0, "b": 1.0},
    "hansen": {"w0": 0.0, "a": 0.0, "exponent": 0.0},
    "linear": {"slope": 0.0},
    "moist-air": {"porosity": 0.0},
    "wood-sorption": {"density": 0.0, "w_free": 0.0, "scale": 0.0, "tail_exponent": 1.0},
    "rational-sorption": {"density": 0.0, "a1": 0.0, "w_free": 0.0, "tail_exponent": 1.0},
    "perm-table": {"thickness": 0.0},
    "benchmark": {"mu": 0.0, "w_sat": 0.0},
    "permeability": {"value": 0.0},
    "perm": {"perm": 0.0},
    "permeance": {"value": 0.0},
    "sd": {"sd": 0.0},
    "diffusivity-constant": {"value": 0.0},
}
"""Form -> parameter -> the value it must exceed."""


def _check_parameters(form: Any, place: str) -> None:
    for name, least in _LEAST.get(form.form, {}).items():
        value = getattr(form, name, None)
        if value is not None and not value > least:
            refuse(
                f"{place}.{name}",
                f"{value:g}: must be above {least:g}; "
                "is it the value of another form, or a missing value set to 0?",
            )
    if form.form in ("permeability-table", "perm-table"):
        _check_ordinates(form.points, f"{place}.points")
    for mode in getattr(form, "modes", ()):
        _check_mode(mode, f"{place}.modes")


def _check_ordinates(points: Any, place: str) -> None:
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
