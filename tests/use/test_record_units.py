"""What a record holds has the unit and the averaging that stand beside it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import xarray as xr
from feature_walls import frame
from real_walls import steady_loads

from hygro.record import simulate_loads
from hygro.record.dataset import to_dataset
from hygro.solve.march import run
from hygro.wall.elements import Gap
from weather.moistair import saturation_pressure

HOURS = 24
RATE = 1e-4
WALL = frame(Gap("gap", 0.020, 18.0))
UNITS = {
    "temperature": ("K", "time: point"),
    "relative_humidity": ("1", "time: point"),
    "water_content": ("kg m-3", "time: point"),
    "vapour_pressure": ("Pa", "time: point"),
    "interface_temperature": ("K", "time: point"),
    "layer_water": ("kg m-2", "time: point"),
    "layer_temperature": ("K", "time: point"),
    "heat_flux": ("W m-2", "time: mean"),
    "moisture_flux": ("kg m-2 s-1", "time: mean"),
    "rain_absorbed": ("kg m-2 s-1", "time: mean"),
    "rain_runoff": ("kg m-2 s-1", "time: mean"),
    "gap_air_change": ("h-1", "time: mean"),
}
"""As the page of the record has them."""


@pytest.fixture(scope="module")
def ds() -> xr.Dataset:
    loads = steady_loads(HOURS, (263.15, 200.0), (294.15, 1200.0), rates=(RATE,))
    return simulate_loads(WALL, loads)


@pytest.mark.parametrize("name", UNITS)
def test_unit_and_averaging_are_those_of_the_page(ds: xr.Dataset, name: str) -> None:
    found = ds[name].attrs
    assert (found["units"], found["cell_methods"]) == UNITS[name]


def test_temperatures_are_kelvin_and_lie_between_the_air_of_both_sides(ds: xr.Dataset) -> None:
    for name in ("temperature", "interface_temperature", "layer_temperature"):
        values = ds[name].values
        assert values.min() > 255.0, name
        assert values.max() < 295.0, name


def test_cells_add_up_to_their_layer(ds: xr.Dataset) -> None:
    thick, layer = ds["cell_thickness"].values, ds["cell_layer"].values
    w, T = ds["water_content"].values[-1], ds["temperature"].values[-1]
    for k in range(ds.sizes["layer"]):
        mine = layer == k
        # kg/m³ times metres is kg/m²
        assert ds["layer_water"].values[-1, k] == pytest.approx(w[mine] @ thick[mine], rel=1e-9)
        mean = T[mine] @ thick[mine] / thick[mine].sum()
        assert ds["layer_temperature"].values[-1, k] == pytest.approx(mean, rel=1e-9)


def test_vapour_pressure_is_over_ice_below_zero(ds: xr.Dataset) -> None:
    T, rh = ds["temperature"].values, ds["relative_humidity"].values
    cold = T < 270.0
    assert cold.any()
    expected = rh[cold] * saturation_pressure(T[cold], over="ice")
    np.testing.assert_allclose(ds["vapour_pressure"].values[cold], expected, rtol=1e-9)


def test_air_change_is_flow_over_depth_in_an_hour(ds: xr.Dataset) -> None:
    # 1e-4 m³/(s·m²) through 20 mm: 18 an hour
    assert ds["gap_air_change"].values[-1, 0] == pytest.approx(18.0, rel=1e-9)


def test_pores_are_those_of_the_material(ds: xr.Dataset) -> None:
    for k, layer in enumerate(WALL.solids):
        assert ds["layer_w_free"].values[k] == layer.material.w_free
        assert ds["layer_w_max"].values[k] == layer.material.w_max
        assert layer.material.w_free < layer.material.w_max


def test_rain_and_what_drips_are_split_as_the_ledger_has_them() -> None:
    loads = steady_loads(HOURS, (283.15, 900.0), (294.15, 1200.0), rates=(RATE,))
    loads.outside.rain[:] = 1e-4
    found = run(WALL, loads)
    ones = np.ones(HOURS)
    # a ledger of invented amounts of an hour: 0.1 of 0.36 kg/m² taken up, 0.02 and 0.03 dripped
    ledger = found.ledger._replace(
        rain_absorbed=0.1 * ones, drip_outside=0.02 * ones,
        drip_inside=0.03 * ones, water_inside=0.0 * ones, drained=0.04 * ones,
    )  # fmt: skip
    ds = to_dataset(WALL, loads, replace(found, ledger=ledger), {})
    assert ds["rain_absorbed"].values[1:] == pytest.approx(0.1 / 3600 * ones)
    assert ds["rain_runoff"].values[1:] == pytest.approx((0.36 - 0.1) / 3600 * ones)
    assert ds["drained"].values[1:] == pytest.approx(0.09 / 3600 * ones)
