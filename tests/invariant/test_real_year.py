"""All that real walls have, together, through a measured year: balances close, cost is small.

The weather is a typical-year file with rain that the package `diyepw` brings.
"""

from __future__ import annotations

import math
from dataclasses import replace
from importlib.util import find_spec
from pathlib import Path

import numpy as np
import pytest
import xarray as xr
from real_walls import typical

import weather
from hygro.assess import metal_ratings, verdict
from hygro.material import library
from hygro.record import load, repeat, save, simulate
from hygro.room.presets import room_preset
from hygro.solve.march import run
from hygro.wall.elements import Gap, Initial, Layer, Openings, Washing
from hygro.wall.interruptions import Attachment, Framing, Joints
from hygro.wall.joints import worst_path
from hygro.wall.leaks import AirLeak, RainLeak, Wetting
from hygro.wall.loads import build_loads
from hygro.wall.wall import Wall

FILE = "data/tmy_epw_files/USA_IL_Chicago.OHare.Intl.AP.725300_TMY3.epw"
ROOM = room_preset("dwelling_normal")


@pytest.fixture(scope="module")
def climate() -> xr.Dataset:
    spec = find_spec("diyepw")
    if spec is None or spec.origin is None:
        pytest.fail("diyepw is missing: pip install --no-deps diyepw==1.3.1")
    return weather.read(Path(spec.origin).parent / FILE)


def everything() -> Wall:
    wall = typical(
        Gap("gap", 0.019, Openings(0.01, 2.5)),
        leaks=[
            RainLeak("sheathing"),
            RainLeak("batt", fraction=0.002, face="inner", depth=0.02),
            Wetting("sheathing", 0.2, after=2000),
            AirLeak("sheathing", permeance=2e-5, building_height=6.0),
        ],
        air_flow=-1e-5,
    )
    screws = Attachment("screws", 6.0**-0.5, (6.4e-5 / math.pi) ** 0.5)
    elements = tuple(
        replace(e, attachments=(screws,)) if e.name == "outboard" else e for e in wall.layers
    )
    elements = tuple(
        replace(e, framing=Framing(0.25, library.get("softwood")))
        if isinstance(e, Layer) and e.name == "batt"
        else replace(e, initial=Initial(moisture_content=0.20))
        if isinstance(e, Layer) and e.name == "sheathing"
        else e
        for e in elements
    )
    elements = tuple(
        replace(e, wind_washing=Washing(0.03)) if e.name == "outboard" else e for e in elements
    )
    return replace(wall, layers=elements)


@pytest.fixture(scope="module")
def record(climate: xr.Dataset) -> xr.Dataset:
    return simulate(everything(), climate, ROOM)


def test_water_of_everything_closes(record: xr.Dataset) -> None:
    assert record.attrs["closure_moisture"] <= 1e-8
    assert record.attrs["closure_energy"] <= 1e-8


def test_water_of_everything_closes_in_the_state_itself(climate: xr.Dataset) -> None:
    found = run(everything(), build_loads(everything(), climate, ROOM))
    book, water = found.ledger, found.w @ found.grid.thickness
    parts = [
        book.vapour_outside, book.vapour_inside, book.rain_absorbed, -book.vapour_gap,
        book.leak_rain, book.leak_vapour, -book.drained,
    ]  # fmt: skip
    through = sum(float(np.abs(part).sum()) for part in parts)
    missing = water[-1] - water[0] - sum(float(part.sum()) for part in parts)
    assert abs(missing) <= 1e-8 * through
    # Everything took part: no source is idle, both gaps renew air.
    assert all(np.any(part != 0.0) for part in parts[:-1])
    assert np.all(found.gap_rate.mean(axis=0) > 0.0)


def test_wetting_and_leak_sum_up_to_what_was_asked(record: xr.Dataset, climate: xr.Dataset) -> None:
    loads = build_loads(everything(), climate, ROOM)
    asked = loads.source[:, :3].sum() * 3600.0
    # Round-off of 8760 sums.
    assert float(np.nansum(record["leak_rain"])) * 3600.0 == pytest.approx(asked, rel=1e-9)
    assert loads.source[:, 2].sum() * 3600.0 == pytest.approx(0.2)
    assert loads.source[:, 0].sum() == pytest.approx(0.01 * loads.outside.rain.sum())


def test_a_stored_record_of_everything_repeats_to_the_bit(record: xr.Dataset, tmp_path) -> None:
    again = repeat(load(save(record, tmp_path / "everything.nc")))
    assert np.array_equal(again["temperature"].values, record["temperature"].values)
    assert again.attrs["wall"] == record.attrs["wall"]


def test_everything_costs_at_most_twice_the_plain_wall(climate: xr.Dataset) -> None:
    """In evaluations of a cell: 1.5 were found."""

    def work(wall: Wall) -> int:
        got = run(wall, build_loads(wall, climate, ROOM))
        return got.counters["evaluations"] * len(got.grid.layer)

    assert work(everything()) <= 2.0 * work(typical())


def test_screws_lie_between_their_planes_and_above_the_cold_bound(record: xr.Dataset) -> None:
    (rated,) = metal_ratings(record)
    assert rated.place == "screws at the inner face of outboard"
    names = list(record["interface_name"].values)
    inner = record["interface_temperature"].values[
        :, names.index("outboard | barrier | sheathing"), 0
    ]
    outer = record["interface_temperature"].values[
        :, names.index("outboard, washed | outboard, air plane | outboard"), 1
    ]
    estimate = rated.rated.temperature
    low, high = np.minimum(inner, outer), np.maximum(inner, outer)
    # Round-off of temperatures.
    assert np.all(estimate >= low - 1e-9)
    assert np.all(estimate <= high + 1e-9)
    assert rated.bound.lowest < rated.rated.lowest
    assert rated.bound.below_dew_point.hours >= rated.rated.below_dew_point.hours


def test_verdict_names_metal_run_off_and_drying(record: xr.Dataset) -> None:
    found = verdict(record, sheathing="sheathing")
    for key in ("corrosion_hours", "metal_dew_hours", "run_off", "drying"):
        rows = found.of(key)
        assert rows, key
        assert all(row.value is not None for row in rows), key
        # drying asks how the wall closes in and decides; the others advise
        assert any(row.hard for row in rows) is (key == "drying"), key
    assert any("screws" in row.place for row in found.of("corrosion_hours"))
    assert "sheathing" in {row.place for row in found.of("drying")}


def test_a_joint_makes_the_sheathing_colder_in_winter(climate: xr.Dataset) -> None:
    joints = Joints(0.005, spacing=0.6, layers=2)
    wall = typical()
    elements = tuple(replace(e, joints=joints) if e.name == "outboard" else e for e in wall.layers)
    wall = replace(wall, layers=elements)
    face = []
    for path in (wall, worst_path(wall)):
        found = run(path, build_loads(path, climate, ROOM))
        layer = found.grid.layer == [x.name for x in path.solids].index("sheathing")
        face.append(float(found.T[: 31 * 24, layer].mean()))
    assert face[1] < face[0] - 0.2
