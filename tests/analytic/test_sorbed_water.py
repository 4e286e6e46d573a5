"""What counts as sorbed is the storage curve at 95 % RH: of the material, not of the run."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import xarray as xr
from assess_records import OSB, WALL, WOOL
from assess_records import record as by_hand
from plain_materials import held, plain
from real_walls import sealed

from hygro.assess import condensate
from hygro.assess.condensation import beyond_sorption, held_by_nothing, sorbed_water
from hygro.assess.hourly import hourly
from hygro.errors import InputError
from hygro.material import Material
from hygro.material.library import get, library
from hygro.material.storage import BForm, LinearStorage, MoistAir
from hygro.record import load, save, simulate_loads
from hygro.wall.elements import Initial, Layer
from hygro.wall.surfaces import Outside
from hygro.wall.wall import Wall

ROOM = 293.15
LAYERS = [m for m in library().values() if isinstance(m, Material)]
VARIABLE = "layer_w_sorbed"


def material(key: str) -> Material:
    found = get(key)
    assert isinstance(found, Material)
    return found


@pytest.mark.parametrize(
    ("key", "published"),
    # the point at 95 % of each table; that of wood 23.9 % by mass (Wood Handbook ch. 4, 21.1 °C)
    [("osb", 137.0), ("gypsum-board", 17.0), ("fibre-cement", 160.0), ("glass-wool-batt", 0.16),
     ("xps", 0.18), ("clay-brick", 8.0), ("softwood", 450.0 * 0.239)],
)  # fmt: skip
def test_sorbed_water_is_the_published_point_at_95_per_cent(key: str, published: float) -> None:
    # 1.3 %: what the tail of wood may add there, 0.3 % by mass of 23.9
    assert material(key).w_sorbed == pytest.approx(published, rel=0.013)


@pytest.mark.parametrize(
    ("form", "expected"),
    [
        (BForm(w_free=400.0, b=1.02), 400.0 * 0.02 * 0.95 / 0.07),
        (LinearStorage(30.0), 28.5),
        # next to no storage: what its pore air holds, 17.3 g/m³ saturated at 20 °C
        (MoistAir(0.9), 0.9 * 0.95 * 0.0173),
    ],
)
def test_sorbed_water_of_a_formula_is_that_of_a_hand(form: object, expected: float) -> None:
    # 0.2 %: rounding of the saturated density
    assert plain(storage=form).w_sorbed == pytest.approx(expected, rel=2e-3)


def test_the_march_starts_from_the_curves_of_all_materials() -> None:
    """The tables of the solver at 95 % RH are the curves, in warm and in frozen cells alike."""
    for celsius in (20.0, -5.0):
        start = Initial(rh=0.95, temperature=celsius + 273.15)
        layers = tuple(Layer(m, 0.01, name=m.key, initial=start) for m in LAYERS)
        wall = Wall("all", layers, outside=Outside(rain="none", emissivity=0.0))
        air = (celsius + 273.15, 0.95)
        ds = simulate_loads(wall, held(1, air, air))
        curve = np.array([float(m.water_content(0.95)) for m in LAYERS])
        np.testing.assert_array_equal(ds[VARIABLE].values, curve)
        first = ds["water_content"].values[0]
        # between its knots the table of the absorbent brick is off by 2.4e-5, others by less
        np.testing.assert_allclose(first, curve[ds["cell_layer"].values], rtol=3e-5)


@pytest.fixture(scope="module")
def board() -> xr.Dataset:
    """3 mm of OSB that take up the vapour of air of 95 % RH on both sides, 60 days at 5 °C."""
    layer = Layer(material("osb"), 0.003, name="osb", initial=Initial(rh=0.6, temperature=278.15))
    wall = Wall("board", (layer,), outside=Outside(rain="none", emissivity=0.0))
    return simulate_loads(wall, held(60 * 24, (278.15, 0.95), (278.15, 0.95)))


def test_a_board_in_air_of_95_per_cent_ends_with_what_counts_as_sorbed(board: xr.Dataset) -> None:
    # 1e-5: the rest of its way there after 60 days, and the table
    assert board["water_content"].values[-1] == pytest.approx(137.0, rel=1e-5)
    assert board[VARIABLE].values == pytest.approx([137.0])
    # 1e-5 of 3 mm
    assert condensate(board, "outdoor surface").values.max() <= 1e-5 * 0.003 * 137.0


def test_what_was_sorbed_is_so_when_it_freezes() -> None:
    """OSB at 94 % RH between tight sheets cools to -15 °C: ice, and nothing beyond sorption."""
    start = Initial(rh=0.94, temperature=278.15)
    wall = sealed(Layer(material("osb"), 0.011, name="osb", initial=start))
    ds = simulate_loads(wall, held(48, (258.15, 0.5), (258.15, 0.5)))
    assert ds["ice_content"].values[-1].min() > 10.0
    # over ice the air in the pores is saturated, though no cell holds what it sorbs at 95 %
    np.testing.assert_allclose(ds["relative_humidity"].values[-1], 1.0, rtol=1e-9)
    thickness = ds["cell_thickness"].values
    held_in_all = float(ds["water_content"].values[-1] @ thickness / thickness.sum())
    assert held_in_all == pytest.approx(material("osb").water_content(0.94), rel=3e-5)
    assert ds["water_content"].values[-1].max() < 137.0
    assert condensate(ds, str(ds["interface_name"].values[0])).values.max() == 0.0


def test_a_layer_that_was_always_beyond_95_per_cent_shows_all_of_it() -> None:
    water = np.full(16, 10.0)
    water[8:12] = 11.0
    ds = by_hand(rh=0.99, water=water)
    # 10 mm of wool, 1 kg/m³ sorbed of 11
    assert condensate(ds, "osb | wool").values == pytest.approx(0.010 * 10.0)


def test_what_counts_in_an_hour_does_not_depend_on_the_others() -> None:
    rng = np.random.default_rng(5)
    shape = (961, 16)
    whole = hourly(by_hand(rh=rng.uniform(0.5, 1.0, shape), water=rng.uniform(0.0, 200.0, shape)))
    part = whole.part(slice(300, 400))
    for rating in (beyond_sorption, held_by_nothing):
        assert rating(whole, 2).max() > 0.0
        # sums of a few cells in another order
        np.testing.assert_allclose(rating(part, 2), rating(whole, 2)[300:400], rtol=1e-12)


def test_a_record_from_before_has_it_from_its_wall(board: xr.Dataset, tmp_path: Path) -> None:
    older = load(save(board.drop_vars(VARIABLE), tmp_path / "older.nc"))
    assert VARIABLE not in older.variables
    assert sorbed_water(older) == pytest.approx([137.0])


def test_without_either_the_message_says_what_is_missing_and_what_to_do() -> None:
    ds = by_hand().drop_vars(VARIABLE)
    with pytest.raises(InputError, match=r"'layer_w_sorbed' \(water content at 95 % RH\).*again"):
        condensate(ds, "osb | wool")


def test_a_record_says_what_sorbed_is_and_where_it_is_from(board: xr.Dataset) -> None:
    attrs = board[VARIABLE].attrs
    assert attrs["units"] == "kg m-3"
    assert "95 % RH" in attrs["long_name"]
    assert "storage curve" in attrs["source"]
    assert sorbed_water(by_hand(WALL)) == pytest.approx([200.0, OSB.w_sorbed, WOOL.w_sorbed, 200.0])
