"""Drying, run-off, hours of wetness and metal on records made by hand."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from assess_records import BOARD, CLADDING, OSB, WOOL, L, record, saturation
from case_files import write_case
from feature_walls import frame
from real_walls import STILL, plain

from hygro.assess import metal_ratings, verdict
from hygro.assess.metal import fin_share
from hygro.case import climate, load
from hygro.declare import plain as as_plain
from hygro.record import simulate
from hygro.room.models import Constant
from hygro.solve.settings import Settings
from hygro.wall.elements import Gap, Layer
from hygro.wall.interruptions import Attachment
from hygro.wall.leaks import AirLeak
from hygro.wall.wall import Wall

YEAR = 8760


def test_drying_is_counted_from_the_start_until_wood_stays_dry() -> None:
    hours = 24 * 40
    content = np.where(np.arange(hours + 1) < 240, 0.24, 0.15) * OSB.density
    content[300:312] = 0.22 * OSB.density  # wet once more, to hour 311
    water = np.tile(content[:, None], (1, 16))
    (row,) = verdict(record(hours=hours, water=water)).of("drying")
    assert row.value == pytest.approx(312 / 24.0)
    assert row.passed is True
    assert row.criterion.question == "closing in"


def test_wood_that_stays_wet_is_not_judged_dry_and_fails_after_a_year() -> None:
    wet = 0.24 * OSB.density
    (short,) = verdict(record(hours=240, water=wet)).of("drying")
    assert short.passed is None
    assert "still wet" in short.reason
    (long,) = verdict(record(hours=YEAR, water=wet)).of("drying")
    assert long.passed is False
    assert long.value == pytest.approx(365.0)


def test_run_off_counts_water_in_wool_and_not_in_wood_beside_it() -> None:
    water = np.full((961, 16), 5.0)
    water[500:, 8] = 105.0  # outer wool cell, 35 mm
    water[:, 4:8] = 150.0  # wet wood beside it
    layers = (CLADDING, OSB, WOOL._replace(w_sorbed=92.5), BOARD)
    (row,) = verdict(record(layers, water=water)).of("run_off")
    assert row.place == "osb | wool"
    # of 105 kg/m³ 92.5 are sorbed: the rest in 10 mm of it
    assert row.value == pytest.approx(0.010 * 12.5)
    assert row.passed is True


def test_what_ran_off_inside_counts_per_year_and_layer() -> None:
    """Two years; wool (layer 2) loses 0.3 kg/m² in each and gains as much between: none beyond."""
    ds = record(hours=2 * YEAR)
    flow = np.zeros((2 * YEAR + 1, ds.sizes["layer"]))
    flow[100:400, 2] = -0.001 / 3600.0
    flow[500:800, 2] = 0.001 / 3600.0
    flow[YEAR + 100 : YEAR + 400, 2] = -0.001 / 3600.0
    # outboard of the sheathing it may drain
    flow[100:900, 0] = -0.01 / 3600.0
    given = ds.assign(layer_source=(("time", "layer"), flow))
    (row,) = verdict(given).of("drained_inside")
    assert (row.place, row.passed) == ("wool", True)
    assert row.value == pytest.approx(0.3)
    (row,) = verdict(given.assign(layer_source=(("time", "layer"), 2 * flow))).of("drained_inside")
    assert (row.value, row.passed, row.hard) == (pytest.approx(0.6), False, True)


def test_hours_of_wetness_are_counted_per_year_and_not_in_frost() -> None:
    hours = 2 * YEAR
    rh = np.full(hours + 1, 0.5)
    rh[1000:2000] = 0.9
    temperature = np.full(hours + 1, 283.15)
    temperature[1500:2000] = 268.15
    ds = record((CLADDING, OSB._replace(cells=1)), hours=hours, temperature=temperature, face_rh=rh)
    rows = verdict(ds, skip_days=0).of("corrosion_hours")
    assert [row.place for row in rows] == ["osb, outer face", "osb, inner face"]
    assert [row.value for row in rows] == pytest.approx([250.0, 250.0])


def crossed(**more: object) -> tuple[Wall, Layer, Attachment]:
    """100 mm of insulation with screws of 20 mm² before a board."""
    screws = Attachment("screws", 6.0**-0.5, (8e-5 / math.pi) ** 0.5, **more)
    layer = Layer(plain(0.035), 0.10, name="insulation", attachments=(screws,))
    wall = Wall("w", (layer, Layer(plain(0.13), 0.012, name="board")), outside=STILL)
    return wall, layer, screws


def test_shank_takes_the_plane_that_holds_it() -> None:
    # Held inside by a thousand times what the steel conducts: at the inner plane.
    assert fin_share(*crossed(inner_conductance=10.0)) == pytest.approx(1.0, abs=1e-2)
    # Held outside only, and conducting far better than insulation loses: near the outer. 0.1:
    # copper is the best there is.
    assert fin_share(*crossed(inner_conductance=0.0, conductivity=400.0)) == pytest.approx(
        0.0, abs=0.1
    )
    stainless, steel = (fin_share(*crossed(conductivity=k)) for k in (15.0, 50.0))
    assert 0.0 < steel < stainless < 1.0


def test_metal_hours_follow_the_dew_point_at_the_plane() -> None:
    insulation = L("insulation", 0.10, 100.0, absorbent=0)
    board = L("board", 0.012, 100.0)
    T = np.zeros((3, 2)) + 293.15
    T[0], T[1, 0], T[1, 1] = 263.15, 288.15, 288.15  # outer plane, inner plane
    rh = np.full((3, 2), 0.5)
    rh[1] = 0.8
    ds = record((insulation, board), hours=240, face_temperature=T, face_rh=rh)
    wall, layer, screws = crossed()
    ds.attrs["wall"] = json.dumps(as_plain(wall))
    (rated,) = metal_ratings(ds)
    share = fin_share(wall, layer, screws)
    expected = 263.15 + share * 25.0
    assert rated.rated.lowest == pytest.approx(expected)
    wet = 0.8 * saturation(288.15) >= saturation(expected)
    assert wet  # of the case: the screw is below the dew point all the time
    assert rated.rated.below_dew_point.hours == 240
    # The bound: d/k = 0.002 m²·K/W of steel against board 0.012/0.13 and film 0.13 to the room.
    bound = 263.15 + (293.15 - 263.15) * 0.002 / (0.002 + 0.012 / 0.13 + 0.13)
    assert rated.bound.lowest == pytest.approx(bound, abs=1e-6)


def test_walls_without_metal_have_no_such_findings() -> None:
    assert metal_ratings(record((CLADDING, OSB, WOOL, BOARD))) == ()
    wall, layer, _ = crossed()
    bare = replace(wall, layers=(replace(layer, attachments=()), wall.layers[1]))
    ds = record((L("insulation", 0.10, 100.0), L("board", 0.012, 100.0)))
    ds.attrs["wall"] = json.dumps(as_plain(bare))
    assert metal_ratings(ds) == ()
    assert verdict(ds, sheathing="board").of("metal_dew_hours") == ()


def test_what_leaking_air_takes_up_is_no_run_off(tmp_path: Path) -> None:
    """Air of a room at 5 % dries a wall; little condenses while it is moist in January."""
    leak = AirLeak("sheathing", rate=1e-4)
    wall = frame(Gap("gap", 0.02, 50.0), leaks=[leak])
    weather, settings = climate(load(write_case(tmp_path))), Settings(accuracy="draft")
    ds = simulate(wall, weather, Constant(294.15, 0.05), settings=settings)
    taken = -float(ds["leak_vapour"][1:].sum()) * 3600.0
    assert taken > 1.0  # twice what would fail if it counted
    (row,) = verdict(ds).of("drained_inside")
    # a film of 0.1 kg/m² has to form before anything runs off, and the air keeps it from forming
    assert row.value == pytest.approx(0.0, abs=0.01)
