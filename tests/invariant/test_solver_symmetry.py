"""A run has no memory of direction, of chunks, of files or of the clock."""

from __future__ import annotations

from dataclasses import replace
from operator import attrgetter
from pathlib import Path

import numpy as np
import pytest
from feature_walls import features, frame, layer, sheet
from random_walls import random_loads

from hygro.errors import InputError
from hygro.record import load, repeat, save, simulate_loads
from hygro.solve import turn
from hygro.solve.march import run
from hygro.wall.elements import Gap
from hygro.wall.loads import Loads
from hygro.wall.surfaces import Inside, Outside
from hygro.wall.wall import Wall

HOURS = 120


def mirrored(wall: Wall) -> Wall:
    """The wall read from the other side."""
    return replace(wall, layers=wall.layers[::-1])


def swapped(loads: Loads) -> Loads:
    """Loads of the mirrored wall."""
    return replace(
        loads,
        outside=loads.inside,
        inside=loads.outside,
        gap_rate=loads.gap_rate[:, ::-1].copy(),
        air=-loads.air,
    )


def _pair(elements: tuple, air: float | None = None, seed: int = 2):
    wall = Wall(
        "symmetric", elements, outside=Outside(emissivity=0.0), inside=Inside(), air_flow=air
    )
    loads = random_loads(wall, seed, HOURS)
    loads.outside.rain[:] = 0.0  # rain is counted outdoors only
    return run(wall, loads), run(mirrored(wall), swapped(loads))


ELEMENTS = {
    "layers": (
        layer("a", "fibre-cement", 0.008),
        sheet("s", "kraft-facing"),
        layer("b", "glass-wool-batt", 0.1),
        layer("c", "lime-plaster", 0.013),
        sheet("p", "exterior-acrylic-paint"),
    ),
    "closed gap": (
        layer("a", "osb", 0.011),
        Gap("g", 0.02),
        layer("b", "mineral-wool-board", 0.1),
        layer("c", "lime-plaster", 0.013),
    ),
    "masonry": (layer("a", "clay-brick", 0.1), layer("b", "lime-plaster", 0.02)),
}
# Newton leaves up to 1/80 of a step tolerance open (0.16 K, 2.8e-3), more in the third of a
# millimetre at a dry face; both runs take the same steps unless a step is on the edge of being
# accepted, which round-off would tip
OPEN_T, OPEN_RH = 2e-3, 1e-4


@pytest.mark.parametrize("name", ELEMENTS)
def test_mirrored_wall_under_mirrored_loads_has_mirrored_fields(name: str) -> None:
    one, other = _pair(ELEMENTS[name])
    np.testing.assert_allclose(other.T[:, ::-1], one.T, rtol=0, atol=OPEN_T)
    np.testing.assert_allclose(other.rh[:, ::-1], one.rh, rtol=0, atol=OPEN_RH)
    np.testing.assert_allclose(
        other.interface_T[:, ::-1, ::-1], one.interface_T, rtol=0, atol=OPEN_T
    )


def test_mirrored_air_flow_has_mirrored_fields() -> None:
    one, other = _pair(ELEMENTS["layers"], 1e-4)
    np.testing.assert_allclose(other.T[:, ::-1], one.T, rtol=0, atol=OPEN_T)
    np.testing.assert_allclose(other.rh[:, ::-1], one.rh, rtol=0, atol=OPEN_RH)


def test_same_input_same_bits() -> None:
    wall, loads = features()["rain leak"]
    one, other = run(wall, loads), run(wall, loads)
    for name in ("T", "u", "rh", "w", "ice", "interface_T", "interface_p", "gap_T"):
        np.testing.assert_array_equal(getattr(one, name), getattr(other, name))


def test_chunks_have_no_influence(monkeypatch: pytest.MonkeyPatch) -> None:
    """Only what Newton leaves open is settled between chunks."""
    wall, loads = features()["ventilated gap"]
    whole = run(wall, loads)
    monkeypatch.setattr(turn, "CHUNK", 7)
    parts = run(wall, loads)
    np.testing.assert_allclose(parts.T, whole.T, rtol=0, atol=OPEN_T)
    np.testing.assert_allclose(parts.rh, whole.rh, rtol=0, atol=OPEN_RH)
    np.testing.assert_allclose(
        sum(parts.ledger.energy_inside), sum(whole.ledger.energy_inside), rtol=1e-5
    )


def test_saved_record_repeats_to_the_bit(tmp_path: Path) -> None:
    wall, loads = features()["open gap"]
    record = simulate_loads(wall, loads)
    again = repeat(load(save(record, tmp_path / "run.nc")))
    for name in record.data_vars:
        np.testing.assert_array_equal(again[name].values, record[name].values, err_msg=str(name))


def test_layers_of_one_material_stay_one_material_in_a_record(tmp_path: Path) -> None:
    """Liquid crosses between them as inside of one; a stored wall holds the material twice."""
    halves = (layer(name, "clay-brick-absorbent", 0.05) for name in ("outer", "inner"))
    wall = Wall("twice", tuple(halves))
    loads = random_loads(wall, 1, HOURS)
    loads.outside.rain[:] = 2e-4
    record = simulate_loads(wall, loads)
    again = repeat(load(save(record, tmp_path / "run.nc")))
    np.testing.assert_array_equal(again["water_content"].values, record["water_content"].values)


@pytest.mark.parametrize("name", ["outside.temperature", "inside.rain", "wind"])
def test_missing_loads_are_refused(name: str) -> None:
    loads = random_loads(frame(), 1, 24)
    attrgetter(name)(loads)[7] = np.nan
    with pytest.raises(InputError, match=f"'{name}' has a missing value at hour 7"):
        replace(loads)
