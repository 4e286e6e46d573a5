"""What a record holds has the unit and the averaging that stand beside it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import xarray as xr
from feature_walls import frame
from real_walls import steady_loads

from hygro.errors import SolveError
from hygro.record import simulate_loads
from hygro.record.dataset import to_dataset
from hygro.record.provenance import attributes, climate_attributes, loads_hash
from hygro.solve.balance import Ledger, closure
from hygro.solve.march import run
from hygro.solve.settings import Settings
from hygro.wall.elements import Gap
from hygro.wall.series import loads_of, series_of
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


def ledger_of(**amounts: float) -> Ledger:
    """One hour of a wall with a gap; what is not named is 0."""
    pairs = ("energy_gap", "vapour_gap", "energy_source", "water_source")
    made = {
        name: np.full((1, 1) if name in pairs else 1, amounts.get(name, 0.0))
        for name in Ledger._fields
    }
    return Ledger(**made)


@pytest.mark.parametrize(
    ("name", "sign"),
    # what comes into the wall is positive, what leaves through gaps, drains and drips is negative
    [("vapour_outside", 1), ("rain_absorbed", 1), ("vapour_inside", 1), ("water_inside", 1),
     ("vapour_gap", -1), ("leak_rain", 1), ("drained", -1), ("leak_vapour", 1),
     ("drip_outside", -1), ("drip_inside", -1)],
)  # fmt: skip
def test_closures_of_hand_made_ledgers(name: str, sign: int) -> None:
    before, after = np.array([[0.0, 5.0]]), np.array([[0.0, 5.0 + 2.0 * sign]])
    closed = ledger_of(**{name: 2.0})
    assert closure(before, after, closed, closed)["moisture"] == 0.0
    # 3 of it against a change of 2: 1 is missing of the 5 that moved
    open_ = ledger_of(**{name: 3.0})
    assert closure(before, after, open_, open_)["moisture"] == pytest.approx(0.2)


@pytest.mark.parametrize(
    ("name", "sign"),
    [("energy_outside", 1), ("energy_inside", 1), ("energy_gap", -1), ("energy_source", 1)],
)
def test_closures_of_energy_of_hand_made_ledgers(name: str, sign: int) -> None:
    before, after = np.array([[10.0, 0.0]]), np.array([[10.0 + 4.0 * sign, 0.0]])
    closed = ledger_of(**{name: 4.0})
    assert closure(before, after, closed, closed)["energy"] == 0.0
    open_ = ledger_of(**{name: 6.0})
    assert closure(before, after, open_, open_)["energy"] == pytest.approx(0.2)


def test_the_hash_of_loads_sees_every_series() -> None:
    loads = steady_loads(3, (263.15, 200.0), (294.15, 1200.0), rates=(RATE,), sources=1)
    seen = {loads_hash(loads)}
    for path, values in series_of(loads).items():
        moved = {**series_of(loads), path: values + 1e-6}
        seen.add(loads_hash(loads_of(loads.time, moved)))
    assert len(seen) == 1 + len(series_of(loads))


@pytest.mark.parametrize("name", ["energy", "moisture"])
def test_a_record_whose_balance_is_open_is_not_made(name: str) -> None:
    loads = steady_loads(3, (263.15, 200.0), (294.15, 1200.0), rates=(RATE,))
    counters = {"steps": 7, "rejected": 2, "retries": 1, "evaluations": 30}
    closed = {"energy": 1e-8, "moisture": 2e-8}
    attrs = attributes(WALL, loads, Settings(), closed, counters, {})
    assert (attrs["closure_energy"], attrs["closure_moisture"]) == (1e-8, 2e-8)
    assert [attrs[key] for key in ("steps", "steps_rejected", "stage_retries", "evaluations")] == [
        7, 2, 1, 30,
    ]  # fmt: skip
    # 1e-6 of the throughput at most
    with pytest.raises(SolveError, match="balance open by"):
        attributes(WALL, loads, Settings(), {**closed, name: 2e-6}, counters, {})


def test_a_record_keeps_where_its_climate_comes_from_and_what_was_assumed() -> None:
    attrs = {"source": "a.epw", "source_sha256": "1f", "caution": "typical", "kind": "x"}
    found = climate_attributes(xr.Dataset(attrs=attrs))
    assert found == {f"climate_{key}": text for key, text in attrs.items()}
    loads = steady_loads(3, (263.15, 200.0), (294.15, 1200.0), rates=(RATE,))
    counters = dict.fromkeys(("steps", "rejected", "retries", "evaluations"), 0)
    told = attributes(
        WALL, replace(loads, assumptions=("so",)), Settings(), {"energy": 0.0, "moisture": 0.0},
        counters, {},
    )  # fmt: skip
    assert told["assumptions"] == '["so"]'
