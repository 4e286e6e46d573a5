"""Real walls as a user writes them: case keys, second paths, and how far a number may go."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from case_files import write_case
from real_walls import typical

from hygro.assess import with_changes
from hygro.case import load, prepare
from hygro.room.models import Constant
from hygro.solve.settings import Settings
from hygro.study.limit import Limit, judged, limit
from hygro.study.runs import Judging
from hygro.study.vary import air_leak_rate, indoor_rh, outboard_resistance, rain_leak_fraction
from hygro.wall.attachments import u_values
from hygro.wall.elements import Layer, Openings, Washing
from hygro.wall.leaks import AirLeak, Leaks, RainLeak
from hygro.wall.loads import build_loads

BATT = '{ material = "glass-wool-batt", name = "batt", thickness = "140 mm" }'
SCREWS = '{ name = "screws", spacing = "16 in", row_spacing = "24 in", diameter = "4.5 mm" }'
OUTBOARD = (
    '{ material = "mineral-wool-board", name = "outboard", thickness = "80 mm", '
    f"attachments = [{SCREWS}]KEYS }},\n"
)
OSB = '{ material = "osb"'


def changed(tmp_path, keys: str, *more: tuple[str, str], hours: int = 48):
    framed = BATT.replace(" }", ', framing = { fraction = "25 %", material = "softwood" } }')
    outboard = OUTBOARD.replace("KEYS", f", {keys}" if keys else "")
    changes = ((BATT, framed), (OSB, outboard + OSB), *more)
    return load(write_case(tmp_path, *changes, hours=hours))


def test_case_builds_joints_screws_studs_and_their_second_paths(tmp_path) -> None:
    keys = 'joints = { width = "3 mm", layers = 2, shrinkage = "0.2 %" }'
    case = changed(tmp_path, keys, ('name = "plain"', 'name = "plain"\nalso = ["joint", "stud"]'))
    assert [w.name for w in case.walls][:3] == ["plain", "plain, at a joint", "plain, at a stud"]
    outboard = case.walls[0].wall.layer("outboard")
    assert outboard.joints is not None
    assert outboard.joints.opened == pytest.approx(0.003 + 0.002 * 1.22)
    assert outboard.attachments[0].density == pytest.approx(1.0 / (16 * 24 * 0.0254**2))
    found = u_values(case.walls[0].wall)
    assert found.clear < found.jointed < found.effective
    assert case.walls[2].wall.layer("batt").material.key == "softwood"


def test_case_builds_washing_channel_and_directed_leak(tmp_path) -> None:
    channel = 'air_change = { area = 0.01, height = "2.5 m", friction = true, blocked = "10 %" }'
    leak = 'air = { at = "sheathing", permeance = 2e-5, building_height = "6 m", terrain = "city" }'
    case = changed(
        tmp_path,
        'wind_washing = { depth = "20 mm" }',
        ("air_change = 100", channel),
        ('leaks.rain = { at = "sheathing" }', f"leaks.{leak}"),
    )
    wall = case.wall("leaky").wall
    assert wall.gaps[0].air_change == Openings(0.01, 2.5, blocked=0.1, friction=True)
    washing = wall.gaps[1].air_change
    assert isinstance(washing, Washing)
    assert washing.permeability == 1.2e-9  # of the board in the library
    assert wall.leaks.air[0].building_height == 6.0
    assert wall.leaks.air[0].terrain == "city"


def test_unprotected_wall_starts_wet_in_its_start_month(tmp_path) -> None:
    case = changed(tmp_path, "", ('name = "plain"', 'name = "plain"\ninitial.unprotected = true'))
    wall = case.walls[0].wall
    osb = wall.layer("sheathing")
    content = wall.initial_of(osb).content(osb.material)
    assert content == pytest.approx(
        2.0 * float(osb.material.water_content(0.8)) / osb.material.density
    )


SETTINGS = Settings(accuracy="draft", tolerance=10.0)
"""Coarse: these tests look for the turn of a verdict, not for digits."""
ROOM = Constant(294.15, 0.40)
WETTEST = Judging(
    criteria=tuple(row for row in with_changes("mc_24h", limit=0.18) if row.key == "mc_24h")
)


@pytest.fixture
def weather(tmp_path):
    """The invented year."""
    return prepare(load(write_case(tmp_path)))[1]


def leaky():
    return typical(
        leaks=[RainLeak("sheathing"), AirLeak("sheathing", rate=0.0)],
    )


def last_within(found: Limit, otherwise: float) -> float:
    return found.windows[-1].last if found.windows else otherwise


@pytest.mark.parametrize(
    ("parameter", "high", "within"),
    [(rain_leak_fraction, 1.0, 0.05), (air_leak_rate, 2e-3, 2e-4)],
)
def test_largest_leak_brackets_the_turn_of_the_verdict(weather, parameter, high, within) -> None:
    variant = parameter(leaky(), Constant(294.15, 0.5))
    judge = judged(variant, weather, settings=SETTINGS, judging=WETTEST)
    edge = limit(judge, 0.0, high, within=within).highest
    assert edge is not None
    assert 0.0 <= edge.inside < edge.outside <= high
    assert edge.outside - edge.inside <= within
    again = judged(variant, weather, settings=SETTINGS, judging=WETTEST)
    assert [trial.passed for trial in again([edge.inside, edge.outside])] == [True, False]
    assert any("sheathing" in reason for reason in edge.reasons)


def test_more_outboard_insulation_allows_a_higher_indoor_humidity(weather) -> None:
    bare = typical()
    thin = replace(
        bare,
        layers=tuple(
            replace(e, thickness=0.02) if isinstance(e, Layer) and e.name == "outboard" else e
            for e in bare.layers
        ),
    )
    highest = []
    for wall in (thin, bare):
        leaks = (AirLeak("sheathing", rate=1e-4),)
        judge = judged(
            indoor_rh(replace(wall, leaks=Leaks(air=leaks)), ROOM), weather,
            settings=SETTINGS, judging=WETTEST,
        )  # fmt: skip
        highest.append(last_within(limit(judge, 0.2, 0.9, within=0.05), 0.2))
    assert highest[1] > highest[0]


def test_least_outboard_resistance_passes_and_less_of_it_fails(weather) -> None:
    wall = replace(leaky(), leaks=Leaks(air=(AirLeak("sheathing", rate=2e-4),)))
    judge = judged(
        outboard_resistance(wall, Constant(294.15, 0.5), "outboard"),
        weather, settings=SETTINGS, judging=WETTEST,
    )  # fmt: skip
    edge = limit(judge, 0.2, 8.0, within=0.5).lowest
    assert edge is not None
    assert edge.inside - 0.5 <= edge.outside < edge.inside


def test_record_says_how_often_room_air_leaks_outward(tmp_path) -> None:
    air = 'leaks.air = { at = "sheathing", permeance = 2e-5 }'
    path = write_case(tmp_path, ('leaks.rain = { at = "sheathing" }', air))
    case, climate = prepare(load(path))
    item = case.wall("leaky")
    loads = build_loads(item.wall, climate, item.room)
    # Indoor air at 21 °C is warmer than this winter, and colder than its hottest hours (26 °C).
    outward = int(np.count_nonzero(loads.source[:, 0] > 0))
    assert 0 < outward < 8760
    assert any(f"outward in {outward} of 8760 h" in line for line in loads.assumptions)
