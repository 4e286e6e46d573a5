"""Physical bounds of a material, checked before a wall takes it. Owns the bounds and the messages.

Every refusal names the key, the value, the bound and the likely cause.
"""

from __future__ import annotations

from typing import NoReturn

import numpy as np

from hygro.constants import STILL_AIR_PERMEABILITY
from hygro.declare import set_once
from hygro.material.check_points import check_points
from hygro.material.curves import Array
from hygro.material.liquid import AbsorptionDiffusivity
from hygro.material.model import IDEALISED, AnyMaterial, Material, SheetMaterial
from hygro.problems import RefusedError, refuse

# s from just below saturation to bone dry; log spacing because suction spans ten decades
_S = np.concatenate(([0.0], np.geomspace(1e-12, 30.0, 1500)))
_RH = np.linspace(0.0, 0.995, 200)

_HEAVIEST_POROUS_SOLID = 4000.0  # kg/m³; quartz 2650, common ores of pigments below 4000
_LARGEST_SORPTION = 0.35  # kg/kg at 80 % rh; wood takes up 0.16, salts and gels more
_LARGEST_A = 1.0  # kg/(m²·s^0.5); the thirstiest bricks reach about 0.7 (from memory)
_LARGEST_K = 1e-4  # s; open brick reaches about 1e-6 at saturation
_LARGEST_D = 1e-3  # m²/s
_LARGEST_SHEET = 1e-7  # kg/(m²·s·Pa); 1750 perm, more than a coarse net
_LARGEST_LAMBDA = 10.0  # W/(m·K); what is no metal stays below: quartzite 7, wet sand 3
_LIGHTEST_METAL = 2500.0  # kg/m³; aluminium 2700
_CONDUCTIVITY = "W/(m·K); 1 Btu·in/(h·ft²·°F) is 0.144, and mW must be divided by 1000"
_ROUND = 1e-9  # relative rounding left by curve evaluation


def check(material: AnyMaterial, *, place: str | None = None) -> AnyMaterial:
    """Return the material if it is physically possible.

    Parameters
    ----------
    material : Material or SheetMaterial
        What to check.
    place : str
        Where it came from, for the message, e.g. "walls.toml, table [osb]".

    Raises
    ------
    RefusedError
        A value is out of bounds, a curve is not monotone, or two properties contradict.
    """
    try:
        check_points(material)
        if isinstance(material, SheetMaterial):
            _check_permeance(material)
        else:
            for part in (
                _check_storage,
                _check_pores,
                _check_vapour,
                _check_thermal,
                _check_liquid,
            ):
                part(material)
    except RefusedError as error:
        raise RefusedError(place or f"material '{material.key}'", error.problems) from None
    return material


def check_own(material: AnyMaterial) -> AnyMaterial:
    """Return a material that is about to enter a wall; checks it once, unless it is idealised.

    Raises
    ------
    RefusedError
        As `check`.
    """
    if material.group not in IDEALISED and not hasattr(material, _MARK):
        check(material)
        set_once(material, _MARK, True)
    return material


_MARK = "_checked"
"""Attribute of a material that was checked; a copy with something replaced lacks it."""


def _refuse(key: str, value: object, bound: str, cause: str) -> NoReturn:
    shown = f"{value:.4g}" if isinstance(value, float) else str(value)
    refuse(key, f"{shown}: must be {bound}; {cause}")


def _check_storage(m: Material) -> None:
    w = m.storage.water_content(_S)
    if not np.all(np.isfinite(w)):
        _refuse("storage", "not a number somewhere", "finite", "check the parameters")
    rise = np.diff(w)
    if np.max(rise) > _ROUND * w[0]:
        rh = float(np.exp(-_S[1:][np.argmax(rise)]))
        cause = "check the points, and that w_free is above the sorption at saturation"
        _refuse("storage", f"falling near rh {rh:.3f}", "rising with rh", cause)
    if w[-1] < 0.0:
        _refuse("storage", float(w[-1]), "not negative when dry", "check the parameters")
    grid = np.concatenate(([1e-3], np.linspace(0.01, 0.99, 99)))
    flat = np.diff(m.water_content(grid)) <= 0.0
    if np.any(flat):
        rh = float(grid[:-1][flat][0])
        cause = "give at least the storage of the pore air, form 'moist-air'"
        _refuse("storage", f"flat near rh {rh:.3f}", "rising strictly with rh", cause)


def _check_pores(m: Material) -> None:
    if m.w_free > m.w_max * (1.0 + _ROUND):
        bound = f"at most 1000·pore_volume = {m.w_max:.4g} kg/m³"
        _refuse("storage", m.w_free, bound, "w_free is in kg/m³, pore_volume in m³/m³")
    solid = 1.0 - m.density / _HEAVIEST_POROUS_SOLID
    if m.pore_volume > max(solid, 0.0) and m.pore_volume > 0.01:
        bound = f"at most {max(solid, 0.0):.3g} at density {m.density:g} kg/m³"
        _refuse("pore_volume", m.pore_volume, bound, "one of the two is wrong")
    ratio = float(m.water_content(0.8)) / m.density
    if ratio > _LARGEST_SORPTION:
        bound = f"at most {_LARGEST_SORPTION} kg/kg at 80 % rh"
        _refuse("storage", ratio, bound, "is w in percent by mass, or density too low?")


def _check_vapour(m: Material) -> None:
    delta = m.vapour.permeability(_RH)
    if not np.all(np.isfinite(delta)) or np.min(delta) <= 0.0:
        _refuse("vapour", float(np.min(delta)), "positive", "check the permeability points")
    if np.max(delta) > 1.001 * STILL_AIR_PERMEABILITY:  # tolerance: rounding of given values
        bound = f"at most that of still air, {STILL_AIR_PERMEABILITY:g} kg/(m·s·Pa)"
        cause = "is mu below 1, or is the permeability in ng/(m·s·Pa)?"
        _refuse("vapour", float(np.max(delta)), bound, cause)


def _check_permeance(m: SheetMaterial) -> None:
    value = m.permeance.permeance(_RH)
    if not np.all(np.isfinite(value)) or np.min(value) <= 0.0:
        _refuse("permeance", float(np.min(value)), "positive", "give a small value if tight")
    if np.max(value) > _LARGEST_SHEET:
        bound = f"at most {_LARGEST_SHEET:g} kg/(m²·s·Pa)"
        _refuse("permeance", float(np.max(value)), bound, "is it in ng/(m²·s·Pa) or perm?")


def _check_thermal(m: Material) -> None:
    value = m.thermal.conductivity(np.linspace(0.0, max(m.w_max, m.w_free), 101))
    low, high = float(np.min(value)), float(np.max(value))
    if not low >= 0.003 or not high <= 500.0:
        shown = low if low < 0.003 else high
        _refuse("thermal", shown, "0.003 to 500 W/(m·K)", _CONDUCTIVITY)
    if high > _LARGEST_LAMBDA and m.density < _LIGHTEST_METAL:
        bound = f"at most {_LARGEST_LAMBDA:g} W/(m·K) at density {m.density:g} kg/m³"
        _refuse("thermal", high, bound, _CONDUCTIVITY)


def _check_liquid(m: Material) -> None:
    if m.liquid is None:
        if m.absorbent:
            _refuse("absorbent", True, "false without a table 'liquid'", "give 'liquid'")
        return
    if isinstance(m.liquid, AbsorptionDiffusivity):
        _check_absorption(m, m.liquid)
    w = np.linspace(0.0, m.w_free, 1001)
    driven_by_suction = m.liquid.driving == "conductivity"
    value = m.liquid.conductivity(w) if driven_by_suction else m.liquid.diffusivity(w)
    most = _LARGEST_K if driven_by_suction else _LARGEST_D
    if not np.all(np.isfinite(value)) or np.min(value) <= 0.0 or np.max(value) > most:
        bad = float(value[np.argmax(~((value > 0.0) & (value <= most)))])
        _refuse("liquid", bad, f"positive and at most {most:g}", "is it K or log10 K?")
    _check_rising(m, w, value)


def _check_absorption(m: Material, liquid: AbsorptionDiffusivity) -> None:
    if not 0.0 < liquid.a <= _LARGEST_A:
        cause = "kg/(m²·s^0.5); a value in kg/(m²·h^0.5) must be divided by 60"
        _refuse("liquid.a", liquid.a, f"above 0 and at most {_LARGEST_A:g}", cause)
    if abs(liquid.w_free - m.w_free) > 0.01 * m.w_free:  # 1 %: rounding of two printed values
        bound = f"the w_free of the storage, {m.w_free:.4g} kg/m³"
        _refuse("liquid.w_free", liquid.w_free, bound, "the two tables disagree")


def _check_rising(m: Material, w: Array, value: Array) -> None:
    falls = np.diff(value) < -_ROUND * value[:-1]
    if not np.any(falls) or getattr(m.liquid, "allow_non_monotone", None):
        return
    first, last = w[:-1][falls][0], w[1:][falls][-1]
    shown = f"falling within w = {first:.4g} to {last:.4g} kg/m³"
    cause = "a falling curve is not physical; to use it as given, state why in allow_non_monotone"
    _refuse("liquid", shown, "rising with w", cause)
