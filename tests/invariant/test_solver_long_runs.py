"""Long runs: interruption and resumption leave the same bits; a repeated year becomes periodic."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import xarray as xr
from hypothesis import given, settings
from hypothesis import strategies as st

from hygro.material.library import get
from hygro.record import load, simulate_loads, simulate_to_file
from hygro.record import stream as stream_module
from hygro.solve.periodic import until_periodic
from hygro.solve.setup import prepare
from hygro.solve.turn import CHUNK
from hygro.wall.elements import Initial, Layer
from hygro.wall.loads import Loads, constant_loads
from hygro.wall.surfaces import Outside
from hygro.wall.wall import Wall
from weather.moistair import saturation_pressure

BOARD = Wall(
    "board",
    (
        Layer(get("osb"), 0.011, name="osb", initial=Initial(rh=0.9)),
        Layer(get("glass-wool-batt"), 0.09, name="wool"),
        Layer(get("gypsum-board"), 0.0125, name="gypsum"),
    ),
    outside=Outside(emissivity=0.0),
)


def seasons(hours: int, period: int) -> Loads:
    """Smooth loads that repeat after `period` hours."""
    phase = 2 * np.pi * np.arange(hours + 1) / period
    loads = constant_loads(hours, (278.0, 600.0), (293.0, 1000.0))
    loads.outside.temperature[:] = 278.0 - 10.0 * np.cos(phase)
    loads.outside.vapour_pressure[:] = 0.8 * saturation_pressure(loads.outside.temperature)
    return loads


class Stopped(Exception):  # noqa: N818
    """Stands for the user's Ctrl-C."""


def assert_same(a: xr.Dataset, b: xr.Dataset) -> None:
    assert set(a.variables) == set(b.variables)
    for name in a.variables:
        floats = a[name].dtype.kind == "f"
        assert np.array_equal(a[name].values, b[name].values, equal_nan=floats), name
    assert a.attrs == b.attrs


@settings(max_examples=4, deadline=None, derandomize=True)
@given(stop=st.integers(min_value=1, max_value=6))
def test_an_interrupted_run_is_resumed_to_the_same_bits(
    stop: int, tmp_path_factory: pytest.TempPathFactory
) -> None:
    folder: Path = tmp_path_factory.mktemp("resume")
    loads = seasons(7 * CHUNK, 8760)
    whole = simulate_loads(BOARD, loads)
    calls = 0

    def interrupt(share: float, date: np.datetime64) -> None:
        nonlocal calls
        calls += 1
        if calls == stop:
            raise Stopped

    original = stream_module.BLOCK
    stream_module.BLOCK = 2 * CHUNK
    try:
        with pytest.raises(Stopped):
            simulate_to_file(BOARD, loads, file=folder / "run.nc", progress=interrupt)
        assert not (folder / "run.nc").exists()
        simulate_to_file(BOARD, loads, file=folder / "run.nc")
    finally:
        stream_module.BLOCK = original
    assert_same(load(folder / "run.nc"), whole)
    assert list(folder.iterdir()) == [folder / "run.nc"]


def test_parts_of_another_run_are_not_taken_up(tmp_path: Path) -> None:
    loads = seasons(3 * CHUNK, 8760)
    warmer = seasons(3 * CHUNK, 8760)
    warmer.inside.temperature[:] += 1.0

    def interrupt(share: float, date: np.datetime64) -> None:
        raise Stopped

    with pytest.raises(Stopped):
        simulate_to_file(BOARD, loads, file=tmp_path / "run.nc", progress=interrupt)
    simulate_to_file(BOARD, warmer, file=tmp_path / "run.nc")
    assert_same(load(tmp_path / "run.nc"), simulate_loads(BOARD, warmer))


def test_a_repeated_round_becomes_periodic() -> None:
    period = 480
    setup = prepare(BOARD, seasons(period, period))
    cycle = until_periodic(setup, drift=1e-4)
    assert cycle.drift <= 1e-4
    again = until_periodic(setup._replace(), drift=1e-4)
    assert again.years == cycle.years
    # the state at the start of the periodic round comes back after one more round
    from hygro.solve.march import chunks

    for _, end in chunks(setup, cycle.start):
        last = end
    # 1e-4 kg/m² in 11 mm board (7 kg/m²) is 1.4e-5 of its mass: far below 0.01 K and 0.001 in u
    np.testing.assert_allclose(last.T, cycle.start.T, atol=0.01)
    np.testing.assert_allclose(last.u, cycle.start.u, atol=0.001)
