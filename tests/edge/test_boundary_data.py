"""Boundary data of a user's own: the way there and back, and every mistake told by name."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import xarray as xr
from case_files import write_case
from feature_walls import features, frame
from random_walls import random_loads

from hygro.case import climate, load
from hygro.errors import HygroError, InputError
from hygro.record import repeat, simulate, simulate_loads, simulate_many, simulate_periodic
from hygro.room.rooms import get_room
from hygro.wall.elements import Gap, Layer
from hygro.wall.leaks import AirLeak, RainLeak
from hygro.wall.load_variables import LOADS
from hygro.wall.loads import boundary, constant_loads, loads_between, repeat_loads
from hygro.wall.series import Loads, series_of
from hygro.wall.wall import Wall

AT = "sheathing"
WALL = frame(
    Gap("vent", 0.02, 50.0), leaks=[RainLeak(AT, 0.01), AirLeak(AT, face="outer", rate=1e-4)]
)


def data() -> xr.Dataset:
    return random_loads(WALL, 3, 30).to_dataset()


def assert_same_loads(one: Loads, other: Loads) -> None:
    assert one.time.tolist() == other.time.tolist()
    assert one.assumptions == other.assumptions
    for path, values in series_of(one).items():
        np.testing.assert_array_equal(values, series_of(other)[path], err_msg=path)


def test_loads_come_back_from_their_dataset_to_the_bit() -> None:
    loads = random_loads(WALL, 3, 30)
    assert_same_loads(boundary(loads.to_dataset(), WALL), loads)
    tight = frame()
    loads = random_loads(tight, 3, 30)
    assert_same_loads(boundary(loads.to_dataset(), tight), loads)


def test_every_variable_says_what_it_is() -> None:
    ds = data()
    assert set(ds.data_vars) == {row.name for row in LOADS.values()}
    for path, row in LOADS.items():
        attrs = ds[row.name].attrs
        assert attrs["units"] == row.unit
        assert attrs["long_name"]
        # states of the air stand at instants, what falls on the wall is a mean of the hour
        point = path.endswith(("temperature", "vapour_pressure", "_coefficient"))
        assert attrs["cell_methods"] == ("time: point" if point else "time: mean")
        assert np.isnan(ds[row.name].values[0]).all() != point


def test_a_dataset_runs_like_its_loads_and_so_does_a_record() -> None:
    wall, loads = features()["rain leak"]
    record = simulate_loads(wall, loads)
    for given in (loads.to_dataset(), record):
        again = simulate_loads(wall, given)
        for name in record.data_vars:
            np.testing.assert_array_equal(again[name], record[name], err_msg=str(name))


def without(name: str) -> Callable[[xr.Dataset], xr.Dataset]:
    return lambda ds: ds.drop_vars(name)


def renamed(old: str, new: str) -> Callable[[xr.Dataset], xr.Dataset]:
    return lambda ds: ds.rename({old: new})


def unit(name: str, text: str) -> Callable[[xr.Dataset], xr.Dataset]:
    def changed(ds: xr.Dataset) -> xr.Dataset:
        ds[name].attrs["units"] = text
        return ds

    return changed


def value(name: str, hour: int, number: float) -> Callable[[xr.Dataset], xr.Dataset]:
    def changed(ds: xr.Dataset) -> xr.Dataset:
        ds[name].values[hour] = number
        return ds

    return changed


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (without("wind_speed"), "'wind_speed' is missing"),
        (
            renamed("outdoor_temperature", "outdor_temperature"),
            "'outdoor_temperature' is missing; did you mean 'outdor_temperature'",
        ),
        (unit("wind_speed", "km h-1"), "'wind_speed' has units = 'km h-1': must be 'm s-1'"),
        (unit("rain_incident", ""), "'rain_incident' has units = '': must be 'kg m-2 s-1'"),
        (
            value("outdoor_temperature", 4, 3.0),
            "'outdoor_temperature' = 3 K at time 2001-01-01T04:00: must be 180 to "
            "400 K; is it in °C?",
        ),
        (
            value("rain_incident", 5, 2.0),
            "'rain_incident' = 2 kg m-2 s-1 at time 2001-01-01T05:00: must be 0 to "
            "0.1 kg m-2 s-1; is it per hour, not per second?",
        ),
        (
            value("outdoor_radiation", 7, np.nan),
            "'outdoor_radiation' has no value at time 2001-01-01T07:00",
        ),
        (
            value("gap_exchange", 7, np.inf),
            "'gap_exchange' = inf m s-1 at time 2001-01-01T07:00, gap 0",
        ),
        (
            value("indoor_vapour_pressure", 6, 60000.0),
            "'indoor_vapour_pressure' at time 2001-01-01T06:00 is a relative humidity",
        ),
        (
            lambda ds: ds.isel(time=[0, 1, 3, 4]),
            "from 2001-01-01T01:00 to 2001-01-01T03:00: must be one hour",
        ),
        (lambda ds: ds.isel(time=[0]), "'time' holds 1 values"),
        (without("time"), "coordinate 'time' is missing"),
        (
            lambda ds: ds.assign(wind_speed=("hour", np.zeros(30), {"units": "m s-1"})),
            "'wind_speed' has dimensions ('hour',) of length (30,): must be ('time',), 31 instants",
        ),
        (
            lambda ds: ds.isel(gap=[0, 0]),
            "'gap_exchange' has 2 columns along 'gap': must be 1 for wall 'framed' (vent)",
        ),
        (without("source_rate"), "'source_rate' has 0 columns along 'source': must be 2"),
        (
            lambda ds: ds.assign_coords(gap=["other"]),
            "'gap_exchange' has the columns other: must be vent",
        ),
        (
            lambda ds: ds.assign(wind_speed=("time", ["calm"] * 31, {"units": "m s-1"})),
            "'wind_speed' holds values of type",
        ),
    ],
)  # fmt: skip
def test_a_mistake_is_told_by_name(change: Callable[[xr.Dataset], xr.Dataset], words: str) -> None:
    with pytest.raises(InputError) as told:
        simulate_loads(WALL, change(data()))
    assert words in str(told.value)


def test_data_of_a_wall_with_a_gap_are_refused_for_one_without() -> None:
    with pytest.raises(InputError, match=r"must be 0 for wall 'framed' \(it has none\)"):
        boundary(random_loads(frame(Gap("vent", 0.02)), 3, 30).to_dataset(), frame())


def test_columns_by_name_and_means_at_the_first_instant_are_taken() -> None:
    named = data().assign_coords(gap=["vent"])
    named["rain_incident"].values[0] = 1e9  # belongs to no hour
    assert_same_loads(boundary(named, WALL), random_loads(WALL, 3, 30))


def test_what_is_no_dataset_and_a_climate_without_room_are_refused() -> None:
    with pytest.raises(InputError, match="must be an xarray Dataset, is a dict"):
        simulate_loads(WALL, {"wind_speed": [0.0]})
    climate = (
        data().drop_vars("outdoor_temperature").assign(global_horizontal=("time", np.zeros(31)))
    )
    with pytest.raises(InputError, match="a climate needs a room"):
        simulate_loads(WALL, climate)
    with pytest.raises(InputError, match="loads and a room"):
        simulate(WALL, random_loads(WALL, 3, 30), object())


def test_loads_out_of_bounds_are_refused_before_the_run() -> None:
    loads = random_loads(WALL, 3, 30)
    loads.wind[8] = 500.0
    with pytest.raises(InputError, match=r"'wind_speed' = 500 m s-1 at time 2001-01-01T09"):
        simulate_loads(WALL, loads)


def test_a_bad_run_among_many_gives_its_error_and_leaves_the_others() -> None:
    loads = random_loads(WALL, 3, 30)
    shares: list[float] = []
    runs = [(WALL, loads), (WALL, data().drop_vars("wind_speed")), (WALL, loads.to_dataset())]
    found = dict(simulate_many(runs, progress=shares.append))
    assert isinstance(found[1], HygroError)
    assert "'wind_speed' is missing" in str(found[1])
    alone = simulate_loads(WALL, loads)
    for k in (0, 2):
        assert isinstance(found[k], xr.Dataset)
        assert found[k].identical(alone)
    assert shares == [pytest.approx(k / 3) for k in (1, 2, 3)]


def test_a_periodic_run_takes_loads() -> None:
    wall: Wall = frame()
    year = constant_loads(8760, (278.15, 600.0), (293.15, 1000.0))
    year.outside.radiation[:] = 305.0  # 0.9·σ·278⁴: as much as the surface gives off
    record = simulate_periodic(wall, year)
    assert record.attrs["periodic_drift"] <= 0.005
    assert repeat(record)["water_content"].equals(record["water_content"])


def test_part_and_repetition_keep_every_series() -> None:
    loads = random_loads(WALL, 3, 30)
    part = loads_between(loads, 10, 14)
    assert part.hours == 4
    assert part.time.tolist() == loads.time[10:15].tolist()
    assert part.outside.temperature.tolist() == loads.outside.temperature[10:15].tolist()
    assert part.source.tolist() == loads.source[10:14].tolist()
    twice = repeat_loads(loads, 2)
    assert twice.hours == 60
    assert twice.inside.vapour_pressure[31:].tolist() == loads.inside.vapour_pressure[1:].tolist()
    assert twice.gap_rate[30:].tolist() == loads.gap_rate.tolist()
    assert (np.diff(twice.time) == np.timedelta64(1, "h")).all()


ABSURD = [
    ("temperature", np.nan, "1 of 48 hours missing", "weather.fill"),
    ("temperature", -15.0, "temperature = -15: must be 180–335 K", "is it in °C?"),
    ("temperature", 999.9, "must be 180–335 K", "a code for a missing value?"),
    ("relative_humidity", 55.0, "must be 0–1 1", "is it in percent?"),
    ("vapour_pressure", np.nan, "1 of 48 hours missing", "weather.fill"),
    ("wind_speed", -1.0, "must be 0–100 m/s", "is it in km/h?"),
    ("wind_speed", np.nan, "1 of 48 hours missing", "weather.fill"),
    ("precipitation", 9999.0, "must be 0–600", "a code for a missing value?"),
]


@pytest.mark.parametrize(("name", "value", "what", "cause"), ABSURD)
def test_an_absurd_or_missing_value_of_a_climate_is_told_with_its_hour_and_cause(
    tmp_path: Path, name: str, value: float, what: str, cause: str
) -> None:
    found = climate(load(write_case(tmp_path, hours=48))).copy(deep=True)
    found[name].values[5] = value
    hour = str(found["time"].values[5].astype("datetime64[m]"))
    with pytest.raises(HygroError) as told:
        simulate(Wall("own", Layer("osb", "11 mm")), found, get_room("en15026_high"))
    for words in (name, hour, what, cause):
        assert words in str(told.value)
