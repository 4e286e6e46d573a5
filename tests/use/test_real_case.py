"""Real walls as a user writes them: case keys, second paths, and how much a wall bears."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest
from case_files import write_case
from real_walls import typical
from typer.testing import CliRunner

from hygro.assess import with_changes
from hygro.case import load, prepare
from hygro.cli import app
from hygro.room.models import Constant
from hygro.solve.settings import Settings
from hygro.study.compare import Judging
from hygro.study.tolerance import (
    air_leak_rate,
    indoor_rh,
    judged,
    outboard_resistance,
    rain_leak_fraction,
    tolerance,
)
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
    osb = case.walls[0].wall.layer("sheathing")
    content = osb.initial.moisture_content
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


WINTER, SUMMER = slice(0, 60 * 24), slice(150 * 24, 210 * 24)


def leaky():
    return typical(
        leaks=[RainLeak("sheathing"), AirLeak("sheathing", rate=0.0)],
    )


@pytest.mark.parametrize(
    ("parameter", "high", "within", "season"),
    [(rain_leak_fraction, 1.0, 0.05, SUMMER), (air_leak_rate, 2e-3, 2e-4, WINTER)],
)
def test_largest_leak_brackets_the_turn_of_the_verdict(
    weather, parameter, high, within, season
) -> None:
    variant = parameter(leaky(), Constant(294.15, 0.6))
    judge = judged(variant, weather.isel(time=season), settings=SETTINGS, judging=WETTEST)
    found = tolerance(judge, 0.0, high, within=within)
    assert found.kept is not None
    assert found.broken is not None
    assert 0.0 <= found.kept < found.broken <= high
    assert found.broken - found.kept <= within
    assert judge(found.kept).passed is True
    assert judge(found.broken).passed is False
    assert any("sheathing" in reason for reason in found.reasons)


def test_more_outboard_insulation_bears_a_higher_indoor_humidity(weather) -> None:
    bare = typical()
    thin = replace(
        bare,
        layers=tuple(
            replace(e, thickness=0.02) if isinstance(e, Layer) and e.name == "outboard" else e
            for e in bare.layers
        ),
    )
    limits = []
    for wall in (thin, bare):
        leaks = (AirLeak("sheathing", rate=1e-4),)
        judge = judged(
            indoor_rh(replace(wall, leaks=Leaks(air=leaks)), ROOM), weather.isel(time=WINTER),
            settings=SETTINGS, judging=WETTEST,
        )  # fmt: skip
        found = tolerance(judge, 0.2, 0.9, within=0.05)
        limits.append(0.2 if found.kept is None else found.kept)
    assert limits[1] > limits[0]


def test_least_outboard_resistance_passes_and_less_of_it_fails(weather) -> None:
    wall = replace(leaky(), leaks=Leaks(air=(AirLeak("sheathing", rate=2e-4),)))
    judge = judged(
        outboard_resistance(wall, Constant(294.15, 0.5), "outboard"),
        weather.isel(time=WINTER), settings=SETTINGS, judging=WETTEST,
    )  # fmt: skip
    found = tolerance(judge, 0.2, 8.0, side="lowest", within=0.5)
    assert found.kept is not None
    assert found.broken is not None
    assert found.kept - 0.5 <= found.broken < found.kept
    assert np.isfinite([value for value, _ in found.trials]).all()


def test_command_finds_what_a_wall_bears(tmp_path) -> None:
    path = write_case(tmp_path, ('accuracy = "draft"', 'accuracy = "draft"\ntolerance = 10'))
    options = ["--wall", "leaky", "--low", "0", "--high", "1", "--within", "0.25", "--json"]
    where = 'wall."leaky".leaks.rain.fraction'
    answer = CliRunner().invoke(app, ["bears", str(path), where, *options])
    assert answer.exit_code == 0, answer.output
    found = json.loads(answer.stdout)
    assert found["kept"] is None or 0.0 <= found["kept"] <= 1.0
    assert len(found["trials"]) >= 1
    other = CliRunner().invoke(app, ["bears", str(path), where.replace("leaky", "plain"), *options])
    assert other.exit_code == 2
    assert "another wall" in other.stderr


def test_record_says_how_often_room_air_leaks_outward(tmp_path) -> None:
    air = 'leaks.air = { at = "sheathing", permeance = 2e-5 }'
    path = write_case(tmp_path, ('leaks.rain = { at = "sheathing" }', air))
    case, climate = prepare(load(path))
    item = case.wall("leaky")
    loads = build_loads(item.wall, climate, item.room)
    # Indoor air at 21 °C is warmer than this winter, and colder than its hottest hours (26 °C).
    outward = int(np.count_nonzero(loads.source[:, 0]))
    assert 0 < outward < 8760
    assert any(f"outward in {outward} of 8760 h" in line for line in loads.assumptions)
