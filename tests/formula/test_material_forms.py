"""Curve forms against printed values and against arithmetic done apart from the code."""

from __future__ import annotations

import numpy as np
import pytest

from hygro.constants import PERM
from hygro.errors import InputError
from hygro.material import liquid, storage, thermal, vapour
from hygro.material.curves import SUCTION_PER_S
from hygro.material.library import get

# Hailwood-Horrobin at 21.1 °C, computed from the printed equation (Simpson 1973; Wood Handbook
# ch. 4); % moisture content
WOOD = {
    0.20: 4.49,
    0.30: 6.17,
    0.40: 7.70,
    0.50: 9.24,
    0.60: 10.97,
    0.65: 11.96,
    0.70: 13.09,
    0.80: 15.99,
    0.90: 20.48,
    0.95: 23.89,
}


def test_wood_sorption_follows_the_printed_equation():
    ratio = 100 * storage.wood_moisture_ratio(list(WOOD), 294.25)
    np.testing.assert_allclose(ratio, list(WOOD.values()), atol=0.006)  # printed to 2 decimals


@pytest.mark.parametrize(
    ("celsius", "rh", "published"),
    [
        (20.0, 0.65, 12.00),
        (60.0, 0.80, 13.56),
        (60.0, 0.55, 8.0),
        (21.0, 0.25, 5.3),
        (21.0, 0.60, 11.1),
        (21.0, 0.84, 17.6),
        (21.0, 0.87, 19.0),
        (21.0, 0.97, 25.0),
    ],
)
def test_wood_sorption_meets_the_published_points(celsius, rh, published):
    ratio = 100 * float(storage.wood_moisture_ratio(rh, celsius + 273.15))
    # the fit's largest published deviation is 0.9 % moisture content
    assert ratio == pytest.approx(published, abs=0.9)


def test_wood_tail_leaves_the_hygroscopic_range_alone_and_ends_at_w_free():
    form = storage.WoodSorption(density=450.0, w_free=600.0)
    moisture = 100 * form.water_content(-np.log([0.5, 0.8, 0.95])) / 450.0
    np.testing.assert_allclose(moisture, [9.24, 15.99, 23.89], atol=0.3)  # stated size of the tail
    assert float(form.water_content(0.0)) == pytest.approx(600.0)


def test_concrete_follows_the_annex_24_catalogue():
    # IEA Annex 24 catalogue, sorption set 1 in kg/kg at density 2200
    u = {0.25: 0.0094, 0.447: 0.0122, 0.648: 0.0182, 0.798: 0.0268, 0.896: 0.0345, 0.978: 0.0425}
    m = get("concrete")
    np.testing.assert_allclose(m.water_content(list(u)) / 2200, list(u.values()), rtol=1e-9)
    assert m.w_free == pytest.approx(110.0)
    assert m.w_max == pytest.approx(150.0)
    delta = m.vapour.permeability([0.25, 0.5, 0.75, 0.95])
    np.testing.assert_allclose(delta, [1.26e-12, 1.4e-12, 2.5e-12, 6.3e-12], rtol=1e-9)
    wet = m.thermal.conductivity(np.array([0, 0.01, 0.02, 0.03, 0.04, 0.05, 0.06]) * 2200)
    np.testing.assert_allclose(wet, [1.16, 1.89, 2.24, 2.46, 2.61, 2.71, 2.78], rtol=1e-9)


def test_softwood_conductivity_follows_the_wood_handbook():
    # k = G (0.1941 + 0.004064 M) + 0.01864 at G 0.45, M 12 %: Wood Handbook ch. 4
    k = float(get("softwood").thermal.conductivity(0.12 * 450))
    assert k == pytest.approx(0.45 * (0.1941 + 0.004064 * 12) + 0.01864, abs=1e-4)  # dry k rounded


def test_van_genuchten_over_suction_and_over_head_agree():
    over_p = storage.VanGenuchten(200.0, ((1.0, 1e-5, 1.8),))
    # the same a per metre of water column: ρ_w·g = 9810 Pa/m
    over_h = storage.VanGenuchtenHead(200.0, ((1.0, 1e-5 * 9810.0, 1.8),))
    s = np.geomspace(1e-9, 10, 50)
    np.testing.assert_allclose(over_h.water_content(s), over_p.water_content(s), rtol=1e-12)
    # by hand: a·p = 1 gives 2^-(1-1/1.8)
    at_one = float(over_p.water_content(1e5 / SUCTION_PER_S))
    assert at_one == pytest.approx(200.0 * 2 ** -(1 - 1 / 1.8))


@pytest.mark.parametrize(
    ("form", "rh", "expected"),
    [
        # by hand: 100·0.1·0.5/(1.1−0.5)
        (storage.BForm(w_free=100.0, b=1.1), 0.5, 100 * 0.1 * 0.5 / 0.6),
        # by hand: (1 − ln 0.5/0.2)^(−0.5) with exponent 0.5
        (storage.Hansen(80.0, 0.2, 0.5), 0.5, 80 / np.sqrt(1 + np.log(2) / 0.2)),
        (storage.LinearStorage(30.0), 0.5, 15.0),
        # porosity × saturated vapour density of 20 °C air (17.3 g/m³) × rh
        (storage.MoistAir(0.9), 0.5, 0.9 * 0.5 * 2339.0 / (461.5 * 293.15)),
        # by hand: 0.2·0.5/((1+0.5)(1−0.4)) = 0.1111 kg/kg at density 100; tail is negligible
        (storage.RationalSorption(100.0, 0.2, 1.0, 0.8, 60.0), 0.5, 100 * 0.1 / (1.5 * 0.6)),
    ],
)
def test_storage_form_gives_the_hand_value(form, rh, expected):
    # 1e-3: rounding of the saturated density, and the tail at 50 % rh
    assert float(form.water_content(-np.log(rh))) == pytest.approx(expected, rel=1e-3)


def test_table_storage_passes_through_every_given_point():
    form = storage.TableStorage(
        rh=((0.2, 10.0), (0.8, 40.0)), suction=((1e5, 120.0), (1e6, 70.0)), w_free=200.0
    )
    s = np.array([-np.log(0.2), -np.log(0.8), 1e6 / SUCTION_PER_S, 1e5 / SUCTION_PER_S, 0.0])
    np.testing.assert_allclose(form.water_content(s), [10, 40, 70, 120, 200], rtol=1e-9)
    assert float(form.water_content(np.inf)) == 0.0


def test_table_storage_keeps_its_digits_close_to_saturation():
    form = storage.TableStorage(rh=((0.8, 40.0),), w_free=200.0)
    s = np.array([1e-12, 1e-11, 1e-10, 1e-9])
    loss = 200.0 - form.water_content(s)
    # linear in s below the floor of the coordinate: ratios of 10. 2 %: cancellation in 200 − w
    # at 1e-12 leaves about 1e-13 of 1e-4
    np.testing.assert_allclose(loss[1:] / loss[:-1], 10.0, rtol=0.02)


def test_cup_values_are_met_and_bridged_exponentially():
    form = vapour.DryWetMu(dry=100.0, wet=25.0)
    delta = form.permeability([0.0, 0.25, 0.5, 0.75, 1.0])
    np.testing.assert_allclose(delta, [2e-12, 2e-12, 4e-12, 8e-12, 8e-12], rtol=1e-12)


def test_mu_divides_still_air():
    # still air of ISO 13788: 2.0e-10 kg/(m·s·Pa)
    np.testing.assert_allclose(vapour.ConstantMu(8.0).permeability([0.0, 0.9]), 2.5e-11, rtol=1e-12)


def test_exponential_permeability_gives_the_hand_value():
    form = vapour.ExponentialPermeability(-27.0, 1.0, 2.0)
    np.testing.assert_allclose(form.permeability(0.5), np.exp(-27.0 + 0.5 + 0.5), rtol=1e-12)


@pytest.mark.parametrize(
    ("form", "expected"),
    [
        (vapour.SheetPerm(1.0), 57.2e-12),
        (vapour.SheetAirLayer(0.2), 1e-9),  # 2.0e-10 / 0.2, still air of ISO 13788
        (vapour.SheetConstant(3.4e-12), 3.4e-12),
        (vapour.SheetPermTable(((0.25, 1.0), (0.75, 4.0))), 2 * 57.2e-12),  # geometric mean
    ],
)
def test_sheet_permeance_converts(form, expected):
    # permeances are far below the absolute tolerance of approx: compare relatively, to rounding
    np.testing.assert_allclose(form.permeance(0.5), expected, rtol=1e-12)


def test_perm_table_of_a_board_scales_with_its_thickness():
    form = vapour.PermeanceOfThickness(thickness=0.0254, points=((0.5, 1.1),))
    # 1.1 perm at one inch is half as much at two inches
    np.testing.assert_allclose(form.permeability(0.5) / 0.0508, 0.55 * PERM, rtol=1e-12)


def test_absorption_form_spans_three_decades_below_its_end_value():
    form = liquid.AbsorptionDiffusivity(a=0.1, w_free=200.0)
    end = 3.8 * (0.1 / 200.0) ** 2  # Künzel 1995, from memory
    np.testing.assert_allclose(
        form.diffusivity([0.0, 200.0, 250.0]), [end / 1000, end, end], rtol=1e-12
    )


def test_conductivity_over_suction_is_read_back_at_its_points():
    store = storage.VanGenuchten(200.0, ((1.0, 1e-5, 1.8),))
    form = liquid.ConductivityOverSuction(((3.0, -8.0), (5.0, -10.0), (7.0, -15.0)), store)
    w = store.water_content(np.array([1e3, 1e5, 1e7]) / SUCTION_PER_S)
    # 801 supporting points over 4 decades: 0.005 in log10, times the steepest slope 2.5 per decade
    np.testing.assert_allclose(np.log10(form.conductivity(w)), [-8, -10, -15], atol=0.0125)


def test_tables_over_water_interpolate_the_logarithm():
    over_w = liquid.ConductivityOverWater(((0.0, -16.0), (100.0, -10.0)))
    np.testing.assert_allclose(over_w.conductivity(50.0), 1e-13, rtol=1e-12)
    d_table = liquid.DiffusivityTable(((0.0, -12.0), (100.0, -8.0)))
    np.testing.assert_allclose(d_table.diffusivity(50.0), 1e-10, rtol=1e-12)


def test_asking_for_the_other_liquid_form_is_refused():
    with pytest.raises(InputError, match="diffusivity"):
        liquid.ConstantDiffusivity(1e-9).conductivity(10.0)
    with pytest.raises(InputError, match="conductivity"):
        liquid.PolynomialConductivity(0.0, (-40.0,)).diffusivity(10.0)


def test_conductivity_forms_give_the_hand_value():
    assert float(thermal.LinearConductivity(0.1, 4e-4).conductivity(100.0)) == pytest.approx(0.14)
    table = thermal.ConductivityTable(((0.0, 1.0), (10.0, 2.0)))
    assert table.conductivity([5.0, 20.0]) == pytest.approx([1.5, 2.0])
    assert float(thermal.ConstantConductivity(0.04).conductivity(50.0)) == 0.04
