"""Bad input to the ratings is refused with place, value and likely cause."""

from __future__ import annotations

import numpy as np
import pytest
import xarray as xr
from assess_records import WALL, record

from hygro import assess
from hygro.assess.mould import mould_class
from hygro.errors import InputError
from hygro.record.variables import TABLE, VARIABLES, out_of_bounds


def test_unknown_layer_is_answered_with_near_matches():
    with pytest.raises(InputError, match=r"layer 'obs'.*did you mean 'osb'"):
        assess.moisture_content(record(), "obs")


def test_unknown_interface_is_answered_with_near_matches():
    with pytest.raises(InputError, match=r"osb \| wool"):
        assess.interface_condensation(record(), "osb|wool")


def test_two_layers_of_one_name_are_refused():
    with pytest.raises(InputError, match="2 layers have this name"):
        assess.moisture_content(record((WALL[0], WALL[1], WALL[1])), "osb")


def test_a_foreign_dataset_is_refused():
    foreign = xr.Dataset({"temperature": ("time", [1.0, 2.0])})
    with pytest.raises(InputError, match="is this the result file of a run"):
        assess.verdict(foreign)
    with pytest.raises(InputError, match="expected an xarray Dataset"):
        assess.verdict({"temperature": [1.0]})


def test_a_missing_array_is_named():
    with pytest.raises(InputError, match="'water_content' is missing"):
        assess.verdict(record().drop_vars("water_content"))


def test_nan_is_refused_with_time_and_place():
    ds = record()
    ds["water_content"][5, 6] = np.nan
    with pytest.raises(InputError, match=r"'water_content' at 2030-10-01T05, \{'cell': 6\}"):
        assess.moisture_content(ds, "osb")


def test_first_hour_mean_may_be_nan_but_no_other():
    ds = record()
    assert assess.run_off(ds).drained == 0.0
    ds["drained"][7] = np.nan
    with pytest.raises(InputError, match="'drained' at 2030-10-01T07"):
        assess.run_off(ds)


def test_wrong_dimensions_are_refused():
    ds = record()
    ds["water_content"] = ds["water_content"].isel(cell=0)
    with pytest.raises(InputError, match="must be"):
        assess.moisture_content(ds, "osb")


def test_a_thinned_result_is_refused():
    with pytest.raises(InputError, match="is not one hour"):
        assess.verdict(record().isel(time=slice(None, None, 3)))


@pytest.mark.parametrize("part", [("outer", 3.0), ("outer", 0.0), ("middle", 0.003)])
def test_impossible_parts_are_refused(part):
    with pytest.raises(InputError, match="part of layer 'osb'"):
        assess.moisture_content(record(), "osb", part)


@pytest.mark.parametrize("days", [-1, 40, 400])
def test_skipping_the_whole_run_is_refused(days):
    with pytest.raises(InputError, match="skip_days"):
        assess.verdict(record(), skip_days=days)


def test_units_are_guessed_in_the_message():
    kelvin, rh = np.full(10, 293.0), np.full(10, 0.9)
    with pytest.raises(InputError, match="is it in °C"):
        assess.mould_index(kelvin - 273.0, rh)
    with pytest.raises(InputError, match="is it in percent"):
        assess.mould_index(kelvin, 100 * rh)
    with pytest.raises(InputError, match="NaN"):
        assess.mould_index(kelvin, np.where(rh > 0, np.nan, rh))
    with pytest.raises(InputError, match="must be alike"):
        assess.mould_index(kelvin, rh[:5])


def test_unknown_options_of_the_mould_index_are_refused():
    kelvin, rh = np.full(10, 293.0), np.full(10, 0.9)
    with pytest.raises(InputError, match="did you mean 'sensitive'"):
        assess.mould_index(kelvin, rh, sensitivity="sensitiv")
    with pytest.raises(InputError, match="mould model"):
        assess.mould_index(kelvin, rh, model="ojanen")
    with pytest.raises(InputError, match="decline"):
        assess.mould_index(kelvin, rh, decline=1.5)
    with pytest.raises(InputError, match="2 classes for 1 surfaces"):
        assess.mould_index(kelvin, rh, sensitivity=["resistant", "sensitive"])


def test_class_names_are_read_with_underscores_and_none_means_not_judged():
    assert mould_class("Very_Sensitive") == "very sensitive"
    assert mould_class("none") is None
    assert mould_class("") is None


def test_an_unknown_criterion_is_answered_with_near_matches():
    with pytest.raises(InputError, match="did you mean 'mc_30d'"):
        assess.with_changes("mc30d", limit=0.18)


def test_drying_from_outside_the_run_is_refused():
    with pytest.raises(InputError, match="must lie in the run"):
        assess.days_to_dry(record(), "osb", 0.2, start="2029-01-01")


def test_a_balance_of_less_than_a_year_is_refused():
    with pytest.raises(InputError, match="must be at least 8760 h"):
        assess.yearly_balance(record())


def test_variable_table_has_no_name_twice_and_known_dims_only():
    assert len(VARIABLES) == len(TABLE)
    assert {dim for row in TABLE for dim in row.dims} == {
        "time",
        "cell",
        "interface",
        "side",
        "layer",
        "gap",
        "source",
    }


def test_out_of_bounds_finds_the_first_bad_value():
    rh = np.full((3, 2), 0.5)
    assert out_of_bounds("relative_humidity", rh) is None
    rh[1, 1] = 54.2
    assert out_of_bounds("relative_humidity", rh) == (1, 1)
    rain = np.array([np.nan, 0.0, np.nan])
    assert out_of_bounds("rain_incident", rain) == (2,)
