"""Curves of materials from the fields of the shipped tables, for the independent model.

Reads the TOML files as data and imports nothing of the package. Forms: what
`docs/reference/materials.md` says of table, mu, mu-dry-wet, perm-table, linear and absorption.
Only the forms that the four walls need are here; another one is refused.
"""

from __future__ import annotations

import tomllib
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
from independent.constants import (
    COLD,
    COLD_STEP,
    HUMID,
    KNOTS,
    L_F,
    R_V,
    STANDARD,
    T_REF,
    WARM,
    ZERO,
)
from scipy.interpolate import PchipInterpolator

DATA = Path(__file__).parents[2] / "hygro" / "material" / "data"
STILL_AIR, PERM = 2.0e-10, 57.2e-12
PER_S = 1000.0 * R_V * T_REF
"""Suction over s = -ln(rh) at 20 °C, Kelvin. [Pa]"""


class Curves(NamedTuple):
    """Tables of m materials, read by straight lines.

    Attributes
    ----------
    w, rh : (m, KNOTS + 1) storage, both rising [kg/m³], [1]
    held : (m, COLD + 1) water that does not freeze, over degrees of frost [kg/m³]
    delta : (m, HUMID + 1) vapour permeability at 20 °C over rh [kg/(m·s·Pa)]
    factor : (m, WARM + 1) on the conductivity, over -60 to 60 °C [1]
    number : (m, 8) dry heat [J/(m³·K)], free and full content [kg/m³], liquid diffusivity at free
        saturation [m²/s], conductivity dry [W/(m·K)] and its rise, power of T of the vapour
        permeability, density [kg/m³]
    """

    w: np.ndarray
    rh: np.ndarray
    held: np.ndarray
    delta: np.ndarray
    factor: np.ndarray
    number: np.ndarray


@cache
def shipped() -> dict[str, dict[str, Any]]:
    """Every shipped material as its table in the file."""
    found: dict[str, dict[str, Any]] = {}
    for file in sorted(DATA.glob("*.toml")):
        found |= tomllib.loads(file.read_text(encoding="utf-8"))
    return found


def permeance(key: str) -> float:
    """Permeance of a sheet. [kg/(m²·s·Pa)]"""
    form = dict(shipped()[key]["permeance"])
    kind = form.pop("form")
    assert kind in ("perm", "permeance"), f"{key}: the model has no sheet that follows humidity"
    return PERM * form["perm"] if kind == "perm" else float(form["value"])


def storage(form: dict[str, Any], s: np.ndarray) -> np.ndarray:
    """Water content over s = -ln(rh). [kg/m³]

    A shape-preserving cubic through the points over rh + 0.2 ln(1 + rh/(s + 1e-7)), which runs like
    rh when dry and like ln(1/s) near saturation; (dry, 0) and (saturated, w_free) are points too.
    """
    assert form["form"] == "table"
    points = [(np.inf, 0.0), *((-np.log(x), w) for x, w in form["rh"])]
    points += [(p / PER_S, w) for p, w in form.get("suction", ())]
    points = [*sorted(points, reverse=True), (0.0, form["w_free"])]
    x, w = np.array(points).T
    return PchipInterpolator(_bent(x), w)(_bent(s))


def _bent(s: np.ndarray) -> np.ndarray:
    return np.exp(-s) + 0.2 * np.log1p(np.exp(-s) / (s + 1e-7))


def _storage_knots(form: dict[str, Any]) -> tuple[np.ndarray, np.ndarray]:
    """W and rh at s that lie evenly over the bent coordinate, found by bisection."""
    at = np.linspace(0.0, float(_bent(np.zeros(1))[0]), KNOTS + 1)[1:-1]
    low, high = np.full_like(at, np.log(1e-15)), np.full_like(at, np.log(50.0))
    for _ in range(80):
        middle = 0.5 * (low + high)
        wetter = _bent(np.exp(middle)) > at
        low, high = np.where(wetter, middle, low), np.where(wetter, high, middle)
    s = np.exp(0.5 * (low + high))
    w = np.concatenate([[0.0], storage(form, s), [form["w_free"]]])
    return w, np.concatenate([[0.0], np.exp(-s), [1.0]])


def _permeability(form: dict[str, Any], pressure: float) -> tuple[np.ndarray, float]:
    """Permeability over rh at a pressure of the air [Pa], and the power of T/293.15 K."""
    rh = np.linspace(0.0, 1.0, HUMID + 1)
    through_air = STILL_AIR * STANDARD / pressure
    if form["form"] == "mu":
        return np.full_like(rh, through_air / form["mu"]), 0.81
    if form["form"] == "mu-dry-wet":
        bridge = np.interp(rh, [0.25, 0.75], np.log([form["dry"], form["wet"]]))
        return through_air / np.exp(bridge), 0.81
    assert form["form"] == "perm-table", form
    x, perm = np.array(form["points"]).T
    return form["thickness"] * PERM * PchipInterpolator(x, perm)(rh), 0.0


def _held(form: dict[str, Any]) -> np.ndarray:
    """What stays liquid: what the retention curve holds at the humidity of ice over water."""
    frost = COLD_STEP * np.arange(COLD + 1)
    return storage(form, L_F * frost / (R_V * ZERO * (ZERO - frost)))


def _factor(thermal: dict[str, Any]) -> np.ndarray:
    T = ZERO + np.linspace(-60.0, 60.0, WARM + 1)
    if "temperature_factor" not in thermal:
        return np.ones_like(T)
    x, y = np.array(thermal["temperature_factor"]).T
    return PchipInterpolator(x, y)(np.clip(T, x[0], x[-1]))


def curves_of(keys: list[str], pressure: float) -> Curves:
    """Tables of materials by their keys, in air of a pressure. [Pa]"""
    rows = []
    for key in keys:
        table = shipped()[key]
        delta, power = _permeability(table["vapour"], pressure)
        thermal, liquid = table["thermal"], table.get("liquid")
        assert thermal["form"] == "linear"
        free = table["storage"]["w_free"]
        full = max(1000.0 * table["pore_volume"], free)
        at_free = 0.0
        if liquid is not None:
            assert liquid["form"] == "absorption"
            at_free = 3.8 * (liquid["a"] / liquid["w_free"]) ** 2
        dry = table["density"] * table["heat_capacity"]
        number = (dry, free, full, at_free, thermal["dry"],
                  thermal["per_water"], power, table["density"])  # fmt: skip
        rows.append((*_storage_knots(table["storage"]), _held(table["storage"]), delta,
                     _factor(thermal), np.array(number)))  # fmt: skip
    return Curves(*(np.array(column) for column in zip(*rows, strict=True)))
