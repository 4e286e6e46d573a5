"""The site of a case: given once, kept by its walls, stored with their records."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from case_files import write_case

import hygro
from hygro.case import climate, load
from hygro.errors import RecordError
from hygro.record import load as load_record
from hygro.wall.site import Site

SITE = '[site]\nterrain = "city"\nheight = "5 m"\n\n[settings]'
OWN = 'leaks.rain = { at = "sheathing" }\nsite = { shelter = 0.5 }'


def test_walls_take_the_site_of_the_case_unless_they_have_their_own(tmp_path: Path) -> None:
    plain = load(write_case(tmp_path))
    assert [item.wall.site for item in plain.walls] == [Site(), Site()]
    changes = ("[settings]", SITE), ('leaks.rain = { at = "sheathing" }', OWN)
    case = load(write_case(tmp_path, *changes))
    assert case.wall("plain").wall.site == Site(terrain="city", height=5.0)
    assert case.wall("leaky").wall.site == Site(shelter=0.5)


def test_a_record_keeps_the_air_it_was_run_in(tmp_path: Path) -> None:
    """Written, read and run again to the same bits at 2240 m; a changed pressure is found out."""
    case = load(write_case(tmp_path, ("altitude = 100.0", "altitude = 2240.0")))
    item, weather = case.walls[0], climate(case).isel(time=slice(0, 48))
    record = hygro.simulate(item.wall, weather, item.room, settings=case.settings)
    # standard atmosphere (ASHRAE Fundamentals ch. 1, from memory): 77 155 Pa
    assert record.attrs["air_pressure"] == pytest.approx(77155.0, abs=1.0)
    assert "77.2 kPa" in record.attrs["assumptions"]
    hygro.save(record, tmp_path / "high.nc")
    again = hygro.repeat(load_record(tmp_path / "high.nc"))
    assert np.array_equal(again["water_content"].values, record["water_content"].values)
    low = hygro.simulate(item.wall, weather.assign_attrs(altitude=0.0), item.room)
    assert low.attrs["air_pressure"] == 101325.0
    assert not np.array_equal(low["water_content"].values, record["water_content"].values)
    with pytest.raises(RecordError, match="loads"):
        hygro.save(record.assign_attrs(air_pressure=80000.0), tmp_path / "changed.nc")
