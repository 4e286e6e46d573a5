"""The monthly hand method: by hand, against the dynamic engine, and what storage changes.

Owns the walls of these comparisons. Storage and liquid are switched off in one dynamic run, which
must then approach the hand method; with real materials the difference is shown, not judged.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from scipy.optimize import brentq

from hygro.constants import HEAT_OF_EVAPORATION, STILL_AIR_PERMEABILITY
from hygro.material import Material
from hygro.material.library import get
from hygro.material.storage import LinearStorage
from hygro.material.thermal import ConstantConductivity
from hygro.material.vapour import ConstantPermeability
from hygro.proof.check import Array, Check, Line, Origin, Outcome, Picture, compare, shown
from hygro.proof.inputs import air, bare, definition, rows
from hygro.solve.march import run
from hygro.solve.settings import Settings
from hygro.solve.setup import Run
from hygro.wall.elements import Initial, Layer
from hygro.wall.loads import Loads, constant_loads
from hygro.wall.monthly import (
    MonthClimate,
    design_condensation,
    design_period,
    monthly_balance,
)
from hygro.wall.steady import SteadyLayer, SteadyWall
from hygro.wall.wall import Wall

CASE = "monthly_method"
HAND = Origin("ISO 13788:2012, DIN 4108-3 loads (from memory), written by hand",
              "own independent implementation")  # fmt: skip
METHOD = Origin("ISO 13788:2012 monthly method of this package", "own independent implementation")
WARMED = Origin("ISO 13788 single-plane formula, heat of condensation added at the plane",
                "own independent implementation")  # fmt: skip
DAY = 86400.0
OPEN = 1.0
"""Vapour film that is no resistance, as the hand method has it. [kg/(m²·s·Pa)]"""
PLANE = 0.010
"""Thickness of the layer that catches the condensate in the dynamic run. [m]"""
LATENT = (
    "the hand method leaves out the heat of condensation: 3.6e-7 kg/(m²·s) give 0.9 W/m² at the "
    "plane, with 0.4 m²·K/W beside 2.5 about 0.3 K, that is 2 % of the saturation pressure and 6 % "
    "of the difference of pressures that drives"
)


def by_hand() -> Outcome:
    """Fixed design periods and twelve months against amounts written out by hand."""
    plain = _steady()
    ref = rows(CASE, "reference_periods.csv")
    new, old = (design_condensation(plain, design_period(e)) for e in ("2014", "2001"))
    found = [float(new.condensed.max()), float(old.condensed.max()), -float(new.evaporable.max())]
    # 2014 drying counts negative in the table
    checks: list[Check] = [
        compare(
            CASE, row["period"], ours, float(row["amount"]), 1e-4, unit="kg/m²", origin=HAND,
            relative=True, reason="arithmetic, printed to six decimals",
        )
        for row, ours in zip(ref, found, strict=True)
    ]  # fmt: skip
    year = monthly_balance(plain, _months())
    months = [int(r["month"]) - 1 for r in rows(CASE, "reference_year.csv")]
    printed = [float(r["accumulated"]) for r in rows(CASE, "reference_year.csv")]
    ours = year.accumulated.sum(axis=1)[months]
    checks.append(
        compare(
            CASE, "condensate at the end of each month", ours, printed, 1e-5, unit="kg/m²",
            origin=HAND, at=np.array(months) + 1, at_unit="(month)", reason="arithmetic",
        )
    )  # fmt: skip
    return Outcome(tuple(checks))


def dynamic() -> Outcome:
    """The same months in the engine: without storage and liquid, and with real materials."""
    year = monthly_balance(_steady(), _months())
    order = [(10 + k) % 12 for k in range(12)]
    hand = year.accumulated.sum(axis=1)[order]
    bare_run, real_run = _dynamic(_inert_wall()), _dynamic(_real_wall())
    ends = np.cumsum([24 * definition(CASE)["year"]["days"][m] for m in order])
    plane = bare_run.grid.layer == 2
    ours = (bare_run.w[:, plane] @ bare_run.grid.thickness[plane])[ends]
    mass = real_run.w @ real_run.grid.thickness
    wetter = mass[ends] - mass[0]
    top = int(np.argmax(hand))
    names = np.array(order) + 1
    warmed = _with_latent_heat(order)
    checks = (
        compare(
            CASE, "dynamic run without storage and liquid, every month", ours, warmed, 1.0,
            unit="kg/m²", origin=WARMED, scale=float(hand.max()), at=names, at_unit="(month)",
            reason="the hand method with the heat of condensation at its plane has the same "
            "physics; what is left are the first days of a month",
        ),
        compare(
            CASE, "dynamic run without storage and liquid, greatest condensate", float(ours[top]),
            float(hand[top]), 6.0, unit="kg/m²", origin=METHOD, relative=True, reason=LATENT,
        ),
        shown(
            CASE, "gain of water with storage and liquid of real materials, same month",
            float(wetter[top]), float(hand[top]), unit="kg/m²", origin=METHOD,
            note="what storage and liquid transport change: shown, not judged",
        ),
    )  # fmt: skip
    month = np.arange(1.0, 13.0)
    lines = (
        Line("dynamic, no storage, no liquid", month, ours),
        Line("dynamic, real materials: gain", month, wetter),
        Line("monthly method", month, hand, True),
        Line("the same, heat of condensation added", month, warmed, True),
    )
    picture = Picture(CASE, "Condensation in a year of monthly loads", "months from November",
                      "water, kg/m²", lines)  # fmt: skip
    return Outcome(checks, (picture,))


def _with_latent_heat(order: list[int]) -> Array:
    """Water at the brick's inner face at the end of each month, plane warmed by condensation.

    g_c = δ0 [(p_i - p_c)/(s_d,T - s_d,c) - (p_c - p_e)/s_d,c] with p_c = p_sat(θ_c), and θ_c from
    (θ_e - θ_c)/R_e + (θ_i - θ_c)/R_i + h_v g_c = 0. [kg/m²]
    """
    wall, water, found = _steady(), 0.0, []
    R_e = wall.R_se + sum(x.R for x in wall.layers[:2])
    R_i = wall.R_si + sum(x.R for x in wall.layers[2:])
    Z_e, Z_i = (sum(x.Z for x in part) for part in (wall.layers[:2], wall.layers[2:]))
    months = _months()
    for k in order:
        m = months[k]

        def rate(T: float, m: MonthClimate = m) -> float:
            p = air(T, 1.0)[1]
            return (m.p_i - p) / Z_i - (p - m.p_o) / Z_e

        def heat(T: float, m: MonthClimate = m) -> float:
            return (m.T_o - T) / R_e + (m.T_i - T) / R_i + HEAT_OF_EVAPORATION * rate(T)

        g = rate(float(brentq(heat, m.T_o - 5.0, m.T_i + 5.0)))
        water = max(0.0, water + g * m.seconds)
        found.append(water)
    return np.array(found)


def _steady() -> SteadyWall:
    data = definition(CASE)
    delta = data["case"]["air_permeability"]
    return SteadyWall(
        tuple(
            SteadyLayer(
                x["name"], x["thickness"] / x["conductivity"],
                x["diffusion_resistance"] * x["thickness"] / delta,
            )
            for x in data["layer"]
        )
    )  # fmt: skip


def _months() -> list[MonthClimate]:
    year = definition(CASE)["year"]
    found = []
    for k in range(12):
        T, rh = year["outside_temperature"][k], year["outside_humidity"][k]
        p = air(T, rh)[1]
        share = min(1.0, max(0.0, 1.0 - (T - 273.15) / 20.0))
        inside = p + share * year["inside_excess"]
        found.append(MonthClimate(T, p, year["inside_temperature"], inside, year["days"][k] * DAY))
    return found


def _loads() -> Loads:
    """Twelve months from November, each constant."""
    months = _months()
    order = [(10 + k) % 12 for k in range(12)]
    hours = [round(months[m].seconds / 3600.0) for m in order]
    loads = constant_loads(
        sum(hours), (280.0, 800.0), (293.15, 1000.0), outdoor_coefficients=(25.0, OPEN),
        indoor_coefficients=(1 / 0.13, OPEN),
    )  # fmt: skip
    which = np.r_[order[0], np.repeat(order, hours)]
    for side, mark in ((loads.outside, "o"), (loads.inside, "i")):
        side.temperature[:] = [getattr(months[m], f"T_{mark}") for m in which]
        side.vapour_pressure[:] = [getattr(months[m], f"p_{mark}") for m in which]
    return loads


def _inert(name: str, conductivity: float, mu: float, pores: float) -> Material:
    return Material(
        key=name, name=name, group="idealised", density=10.0, heat_capacity=1000.0,
        pore_volume=pores, storage=LinearStorage(0.01),
        vapour=ConstantPermeability(STILL_AIR_PERMEABILITY / mu),
        thermal=ConstantConductivity(conductivity),
    )  # fmt: skip


def _inert_wall() -> Wall:
    """The hand method's wall with a layer at its plane that holds the water and resists nothing."""
    parts: list[Layer] = []
    for k, x in enumerate(definition(CASE)["layer"]):
        material = _inert(x["name"], x["conductivity"], x["diffusion_resistance"], 0.5)
        parts.append(_layer(material, x["thickness"], x["name"], 0.5))
        if k == 1:
            parts.append(_layer(_inert("plane", 1e3, 1e-4, 0.95), PLANE, "plane", 0.5))
    return Wall("hand method, dynamic", tuple(parts), outside=bare())


def _real_wall() -> Wall:
    """The same layers with library materials that store and conduct, same λ and μ."""
    keys = {
        "render": "lime-cement-render",
        "brick": "clay-brick-absorbent",
        "mineral wool": "mineral-wool-board",
        "gypsum board": "gypsum-board",
    }
    parts = []
    for x in definition(CASE)["layer"]:
        material = get(keys[x["name"]])
        vapour = ConstantPermeability(STILL_AIR_PERMEABILITY / x["diffusion_resistance"])
        assert isinstance(material, Material)
        same = replace(material, thermal=ConstantConductivity(x["conductivity"]), vapour=vapour)
        parts.append(_layer(same, x["thickness"], x["name"], 0.7))
    return Wall("real materials", tuple(parts), outside=bare())


def _layer(material: Material, thickness: float, name: str, rh: float) -> Layer:
    """The method keeps what condenses: no film limits it."""
    return Layer(material, thickness, name=name, initial=Initial(rh=rh), film=100.0)


def _dynamic(wall: Wall) -> Run:
    cells: dict[str, Array] = {"plane": np.full(2, PLANE / 2)}
    return run(wall, _loads(), Settings(freezing=False, min_step=1e-3), cells=cells)
