"""The ratings as a user meets them: a reopened netCDF file, and JSON for scripts."""

from __future__ import annotations

import json

import numpy as np
import xarray as xr
from assess_records import record

from hygro.assess import SUMMARY, summary, verdict


def wet_run():
    humid = np.full((5, 2), 0.5)
    humid[2, 0] = 0.97
    return record(hours=24 * 80, water=130.0, face_rh=humid)


def test_a_reopened_file_gives_the_same_verdict(tmp_path):
    ds = wet_run()
    ds.to_netcdf(tmp_path / "run.nc")
    with xr.open_dataset(tmp_path / "run.nc") as reopened:
        assert verdict(reopened).to_dict() == verdict(ds).to_dict()
        assert summary(reopened) == summary(ds)


def test_verdict_is_json_with_source_of_every_limit():
    plain = json.loads(verdict(wet_run()).to_json())
    assert plain["passed"] is False
    assert all(f["source"] and f["origin"] and f["reason"] for f in plain["findings"])
    failed = {f["criterion"] for f in plain["findings"] if f["hard"] and f["passed"] is False}
    assert failed == {"mould_index", "mc_30d"}


def test_summary_has_exactly_the_keys_of_its_table():
    numbers = summary(wet_run())
    assert list(numbers) == list(SUMMARY)
    json.dumps(numbers, allow_nan=False)


def test_the_rating_leaves_the_dataset_as_it_was():
    ds = wet_run()
    before = ds.copy(deep=True)
    verdict(ds, skip_days=5)
    summary(ds)
    assert ds.identical(before)
