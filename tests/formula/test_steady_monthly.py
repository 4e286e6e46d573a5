"""The monthly condensation balance: hand-worked amounts."""

from __future__ import annotations

import numpy as np
import pytest

from hygro.errors import InputError
from hygro.wall.monthly import (
    MonthClimate,
    design_condensation,
    design_period,
    monthly_balance,
    needed_temperature_factor,
    subdivided,
    temperature_factor,
)
from hygro.wall.steady import SteadyLayer, SteadyWall
from weather.moistair import saturation_pressure

DELTA0 = 2e-10
"""Vapour permeability of still air, ISO 13788. [kg/(m·s·Pa)]"""


def _layer(name: str, R: float, sd: float) -> SteadyLayer:
    return SteadyLayer(name, R, sd / DELTA0)


TWO = SteadyWall((_layer("board", 0.21, 5.0), _layer("wool", 1.12, 2.0)))
"""R_total 1.5 m²·K/W, so that the plane lies at a sixth of the temperature difference."""


def test_design_period_gives_the_hand_worked_condensate():
    # −5 °C/80 % and 20 °C/50 %, 90 d (DIN 4108-3:2014, from memory). By hand:
    # θ_c = −5 + 25·0.25/1.5 = −0.833 °C, p_c = 610.5·exp(−21.875·0.8333/264.667) = 569.9 Pa,
    # p_e = 0.8·401.2 = 320.9 Pa, p_i = 1168.5 Pa,
    # g = 2e-10·[(1168.5 − 569.9)/2 − (569.9 − 320.9)/5] = 4.990e-8, times 7776e3 s = 0.3880 kg/m².
    result = design_condensation(TWO, design_period("2014"))
    # 1e-3 relative: the hand calculation carries four digits.
    assert result.condensed[0] == pytest.approx(0.3880, rel=1e-3)
    # Drying: 2e-10·500·(1/2 + 1/5)·7776e3 = 0.5443 kg/m²; roof 800 instead of 500 Pa.
    assert result.evaporable[0] == pytest.approx(0.5443, rel=1e-3)
    roof = design_condensation(TWO, design_period("2014", roof=True))
    assert roof.evaporable[0] == pytest.approx(0.5443 * 800.0 / 500.0, rel=1e-3)


def test_older_design_period_is_colder_and_shorter():
    # −10 °C/80 %, 60 d: θ_c = −5 °C, p_c = 401.2, p_e = 207.4, p_i = 1168.5 Pa:
    # 2e-10·[767.3/2 − 193.8/5]·5184e3 = 0.3576 kg/m²; drying 12 °C/70 %: p_sat = 1402 Pa,
    # 2e-10·0.3·1402·0.7·7776e3 = 0.4579.
    result = design_condensation(TWO, design_period("2001"))
    assert result.condensed[0] == pytest.approx(0.3576, rel=1e-3)
    assert result.evaporable[0] == pytest.approx(0.4579, rel=2e-3)


def _cycle(*months: tuple[float, float, float]) -> list[MonthClimate]:
    """Months of 30 d from (θ_o, RH_o, p_i) at 20 °C indoors."""
    out = []
    for celsius, rh, p_i in months:
        T = celsius + 273.15
        p = rh * saturation_pressure(T, over="iso13788")
        out.append(MonthClimate(T, float(p), 293.15, p_i, 30 * 86400.0))
    return out


def test_months_add_up_and_start_with_the_first_that_condenses():
    thin = SteadyWall((_layer("board", 0.20, 5.0), _layer("wool", 0.25, 2.0)), R_si=1.01)
    months = _cycle(
        (15.0, 0.7, 1200.0), (-5.0, 0.8, 1168.5), (-5.0, 0.8, 1168.5), (15.0, 0.7, 1200.0)
    )
    balance = monthly_balance(thin, months)
    # Plane at (0.04 + 0.20)/1.5 = 0.16: θ_c = −1.0 °C, p_c = 610.5·exp(−21.875/264.5) = 562.0 Pa;
    # 2e-10·[(1168.5 − 562.0)/2 − (562.0 − 320.9)/5]·2592e3 = 0.1322 kg/m² per month.
    assert balance.start == 1
    np.testing.assert_allclose(balance.accumulated[1:3, 0], [0.1322, 0.2644], rtol=1e-3)
    # Warm month: θ_c = 15.8 °C, p_c = 1794 Pa, p_e = 1193: 2e-10·[(1200 − 1794)/2 − 601/5]·2592e3
    # = −0.2163 kg/m²; what is left, 0.0481, goes in the month that follows.
    assert balance.accumulated[3, 0] == pytest.approx(0.2644 - 0.2163, rel=0.01)
    assert balance.accumulated[0, 0] == 0.0
    assert balance.dries_out


def test_wall_that_cannot_dry_is_said_to_accumulate():
    tight = SteadyWall((_layer("sheet", 0.05, 1000.0), _layer("wool", 2.0, 1.0)))
    balance = monthly_balance(tight, _cycle(*[(-5.0, 0.8, 1168.5)] * 6, *[(8.0, 0.8, 1100.0)] * 6))
    assert balance.start is not None
    assert not balance.dries_out
    assert balance.greatest > 0.1


def test_dry_wall_has_no_start_month():
    balance = monthly_balance(TWO, _cycle(*[(10.0, 0.7, 900.0)] * 12))
    assert balance.start is None
    assert balance.accumulated.max() == 0.0


def test_subdivision_keeps_the_sums_and_the_limit():
    wall = subdivided(SteadyWall((_layer("a", 0.25, 1.0), _layer("b", 1.30, 3.0))))
    assert [layer.name for layer in wall.layers][:2] == ["a", "b#1"]
    assert len(wall.layers) == 1 + 6
    assert max(layer.R for layer in wall.layers) <= 0.25
    assert sum(layer.R for layer in wall.layers) == pytest.approx(1.55)
    assert sum(layer.Z for layer in wall.layers) == pytest.approx(4.0 / DELTA0)


def test_temperature_factor_of_a_plane_wall():
    # f = 1 − R_si/R_T with R_si = 0.25: 1 − 0.25/(1.5 − 0.13 + 0.25) = 0.8457.
    assert temperature_factor(TWO) == pytest.approx(0.8457, abs=5e-5)


def test_needed_temperature_factor_meets_its_definition():
    # p_i = 1169 Pa at 0.8 gives p_sat = 1461 Pa, θ_si = 12.6 °C; at −5 °C: f = 17.6/25 = 0.705.
    month = MonthClimate(268.15, 321.0, 293.15, 1168.5, 1.0)
    # 2e-3: θ_si is taken with one decimal.
    assert needed_temperature_factor(month) == pytest.approx(0.705, abs=2e-3)
    with pytest.raises(InputError, match="in percent"):
        needed_temperature_factor(month, rh_limit=80.0)


def test_unknown_edition_is_refused():
    with pytest.raises(InputError, match="known 2014"):
        design_period("1999")
