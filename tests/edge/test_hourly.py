"""Arrays of a record as ratings read them: checked once, kept, cut, and refused as before."""

from __future__ import annotations

import numpy as np
import pytest
from assess_records import record

from hygro.assess.hourly import Hourly, hourly, kept
from hygro.assess.select import after, array, holds, times
from hygro.errors import InputError


def test_what_is_derived_is_made_once_for_a_record_and_its_part() -> None:
    made: list[int] = []

    @kept
    def mean(of: Hourly, name: str, *, factor: float = 1.0) -> float:
        made.append(len(times(of)))
        return factor * float(array(of, name).mean())

    of = hourly(record(hours=72))
    assert mean(of, "temperature") == mean(of, "temperature")
    assert made == [73]
    assert mean(of, "temperature", factor=2.0) == 2.0 * mean(of, "temperature")
    assert made == [73, 73]
    part = after(of, 1.0)
    assert part is after(of, 1.0)
    assert mean(part, "temperature") == mean(part, "temperature")
    assert made == [73, 73, 49]
    assert len(array(part, "layer_density")) == len(array(of, "layer_density"))


def test_arrays_of_no_record_are_read_alike() -> None:
    ds = record(hours=48)
    plain = Hourly({str(name): ds[name].values for name in ds.variables}, ds.attrs)
    assert np.array_equal(array(plain, "temperature"), array(ds, "temperature"))
    assert (holds(plain, "temperature"), holds(plain, "gap_temperature")) == (True, False)
    with pytest.raises(InputError, match="array 'gap_temperature' is missing"):
        array(plain, "gap_temperature")


def test_a_hole_is_refused_where_values_are_not_known_to_be_sound() -> None:
    ds = record(hours=48)
    values = ds["temperature"].values.copy()
    values[7, 1] = np.nan
    broken = ds.assign(temperature=(ds["temperature"].dims, values))
    with pytest.raises(InputError, match=r"'temperature' at .*T07.*'cell': 1.* is not a finite"):
        array(broken, "temperature")
    with pytest.raises(InputError, match="expected an xarray Dataset, got list"):
        array([], "temperature")  # type: ignore[arg-type]
