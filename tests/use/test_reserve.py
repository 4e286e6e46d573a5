"""How much more a wall bears: the search, its words, and the order of walls by it."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from case_files import write_case
from feature_walls import frame, layer
from test_limit import COARSE, DRIER, ONLY_MC
from test_ranking import thicker, wall, wet_start
from typer.testing import CliRunner

from hygro.case import climate, judging, load
from hygro.cli import app
from hygro.room.models import Constant
from hygro.room.moister import Moister
from hygro.room.time import Outdoor
from hygro.study import bearing
from hygro.study.bearing import reserve, with_reserves
from hygro.study.compare import compare
from hygro.study.hand import winter_means
from hygro.study.plan import scenarios
from hygro.study.rank import ranked
from hygro.study.reserve import Bound, Reserve, bears, per_cent
from hygro.study.trials import Trial
from hygro.study.vary import rain_share
from hygro.wall.elements import Gap
from hygro.wall.leaks import RainLeak
from hygro.wall.resistance import resistance
from hygro.wall.wall import Wall, unrained
from weather.moistair import saturation_pressure

ROOM = Constant(294.15, 0.40)


@pytest.fixture(scope="module")
def weather(tmp_path_factory: pytest.TempPathFactory):
    return climate(load(write_case(tmp_path_factory.mktemp("case"))))


def leaky() -> Wall:
    base = frame(Gap("gap", 0.02, 50.0))
    board = layer("outboard", "mineral-wool-board", 0.05)
    elements = (*base.layers[:2], board, *base.layers[2:])
    return Wall("w", elements, leaks=[RainLeak("sheathing", 0.02), RainLeak("outboard", 0.01)])


def test_vapour_is_added_in_the_cold_only() -> None:
    """ISO 13788 classes, from memory: whole excess up to 0 °C, none from 20 °C, linear between."""
    days = np.repeat([-5.0, 0.0, 10.0, 25.0], 48)
    time = np.datetime64("2001-01-01T00", "s") + np.arange(len(days)) * np.timedelta64(3600, "s")
    outdoor = Outdoor(time, days + 273.15, np.full(len(days), 300.0))
    plain, moist = (room.climate(outdoor) for room in (ROOM, Moister(ROOM, 200.0)))
    added = (moist.vapour_pressure - plain.vapour_pressure)[[47, 95, 143, 191]]
    assert added == pytest.approx([200.0, 200.0, 100.0, 0.0])
    wet = Moister(ROOM, 5000.0).climate(outdoor)
    p_sat = float(saturation_pressure(294.15))
    assert wet.vapour_pressure.max() == pytest.approx(0.95 * p_sat)
    dry = Moister(ROOM, -5000.0).climate(outdoor)
    assert dry.vapour_pressure.min() == pytest.approx(0.05 * p_sat)


def winter(weather: Any, room: Any) -> float:
    _, T, p = winter_means(weather, room)
    return p / float(saturation_pressure(T))


def known(rule: Any, asked: list) -> Any:
    """Trials by a rule of wall, room and scenario; what was asked for is noted down."""

    class Known:
        def __init__(self, *_: Any, **__: Any) -> None:
            pass

        def of(self, asks: Any) -> list[list[Trial]]:
            asked.append([(len(ask.values), ask.only) for ask in asks])
            return [[self._trial(ask, value) for value in ask.values] for ask in asks]

        def _trial(self, ask: Any, value: float) -> Trial:
            wall, room = ask.variant(value)
            tried = (ask.only,) if ask.only else tuple(scenarios(wall))
            bad = tuple(name for name in tried if not rule(wall, room, name))
            return Trial(value, not bad, tuple(f"mould at osb, {name}" for name in bad), (), bad)

    return Known


def test_each_number_is_searched_by_itself(weather, monkeypatch) -> None:
    """Edges that are known: 47 % RH, 1.3 % of the rain, R 2.0.

    Eight values a round side by side, and one by one where the grid differs: R 10, 5.9, 3.5, 2.1,
    1.2 (equal ratios of 40 in 7 steps), three halvings, and the whole wall at what was found.
    """
    base, asked = leaky(), []

    def fine(wall: Wall, room: Any, _: str) -> bool:
        board = wall.layer("outboard")
        leaks = max((leak.fraction for leak in wall.leaks.rain), default=0.0)
        return (
            winter(weather, room) <= 0.47
            and leaks <= 0.013 + 0.1 * (wall.leaks == base.leaks)
            and resistance(board) >= 2.0 - 1.0 * (board == base.layer("outboard"))
        )

    monkeypatch.setattr(bearing, "Trials", known(fine, asked))
    found = reserve(base, weather, ROOM)
    rh, rain, R = found.winter_rh, found.rain, found.outboard
    assert rh is not None
    assert rain is not None
    assert R is not None
    assert rh.value <= 0.47 < rh.beyond <= rh.value + 0.55 / 7 / 8 + 1e-9
    assert rain.value <= 0.013 < rain.beyond <= 1.086 * rain.value  # 100 ** (1 / 56)
    assert R.beyond < 2.0 <= R.value <= 1.07 * R.beyond  # 40 ** (1 / 56) = 1.068
    assert (rh.present, rain.present) == (pytest.approx(0.40), 0.02)
    assert R.present == pytest.approx(resistance(base.layer("outboard")))
    assert rh.blamed == ("mould at osb, rain",)
    assert found.words == f"bears {per_cent(rh.value)} RH in winter"
    assert asked == [[(8, "rain")] * 3, [(7, "rain")] * 3, [(1, None)] * 3]


def test_a_run_that_fails_at_what_was_found_is_searched_too(weather, monkeypatch) -> None:
    """Rain fails beyond 60 % RH, the tight wall beyond 40 %: the wall bears 40 %."""
    asked: list = []

    def fine(_: Wall, room: Any, scenario: str) -> bool:
        return winter(weather, room) <= {"rain": 0.60, "tight": 0.40}[scenario]

    monkeypatch.setattr(bearing, "Trials", known(fine, asked))
    found = reserve(leaky(), weather, ROOM, first="rain").winter_rh
    assert found is not None
    assert found.value <= 0.40 < found.beyond <= found.value + 0.55 / 7 / 8 + 1e-9
    assert found.blamed == ("mould at osb, tight",)


def test_the_ranking_asks_no_more_than_it_needs(weather, monkeypatch) -> None:
    """Humidity where walls share a class, rain where they bear the same; nothing not judged."""
    asked: list = []
    bears = {"a": 0.50, "b": 0.50, "c": 0.40, "alone": 0.30, "unknown": 0.30}

    def fine(wall: Wall, room: Any, _: str) -> bool:
        leaks = max((leak.fraction for leak in wall.leaks.rain), default=0.0)
        share = {"a": 0.01, "b": 0.02}.get(wall.name, 1.0)
        return winter(weather, room) <= bears[wall.name] and leaks <= share

    def rainy(name: str, used: float, at: float) -> Any:
        return wall(name, used, layers=thicker(at), leaks=[RainLeak("sheathing", 0.005)])

    monkeypatch.setattr(bearing, "Trials", known(fine, asked))
    walls = [rainy("a", 0.1, 0.1), rainy("b", 0.5, 0.2), rainy("c", 0.3, 0.3),
             rainy("alone", 1.1, 0.4), rainy("unknown", float("nan"), 0.5),
             rainy("unknown too", float("nan"), 0.6)]  # fmt: skip
    given = {item.name: (item.tight.run.wall, ROOM) for item in walls}
    found = with_reserves(walls, given, weather, whole=False)
    assert [item.name for item in found] == ["b", "a", "c", "unknown", "unknown too", "alone"]
    told = {item.name: item.reserve for item in found}
    assert {name for name, item in told.items() if item is None} == {
        "alone", "unknown", "unknown too",
    }  # fmt: skip
    assert {name for name, item in told.items() if item and item.rain} == {"a", "b"}
    assert not any(item.whole or item.outboard for item in told.values() if item)


def test_rain_leaks_grow_alike() -> None:
    changed, _ = rain_share(leaky(), ROOM)(0.08)
    assert [leak.fraction for leak in changed.leaks.rain] == pytest.approx([0.08, 0.04])


def test_what_does_not_arise_is_not_asked(weather, monkeypatch) -> None:
    monkeypatch.setattr(bearing, "Trials", known(lambda *_: True, []))
    bare = frame(Gap("gap", 0.02, 50.0))
    found = reserve(bare, weather, ROOM)
    assert (found.rain, found.outboard) == (None, None)
    assert found.winter_rh is not None
    assert found.winter_rh.beyond is None
    assert reserve(unrained(leaky()), weather, ROOM).rain is None
    warm = weather.assign(temperature=weather["temperature"] * 0.0 + 303.15)
    assert reserve(bare, warm, ROOM).winter_rh is None


def test_bounds_in_words() -> None:
    assert bears(None, per_cent) == "–"
    assert bears(Bound(0.4, None, 0.2), per_cent) == "none"
    assert Reserve(Bound(0.4, None, 0.2), None, None).words == "bears less than 20 % RH in winter"
    none = Reserve(Bound(0.4, None, 0.2), Bound(0.01, None, 0.001), Bound(2.0, None, 7.5))
    assert none.all_words("R {:.1f}".format) == (
        "bears less than 20 % RH in winter, less than 0.1 % of the driving rain leaking in, more "
        "than R 7.5 outboard"
    )
    some = Reserve(Bound(0.4, 0.47, 0.48), None, Bound(2.0, 0.25, None))
    assert some.all_words("R {:.2f}".format) == (
        "bears 47 % RH in winter, ≤ R 0.25 outboard at the least"
    )
    assert Reserve(None, None, None).all_words(str) == ""
    assert bears(Bound(0.4, 0.47, 0.48), per_cent) == "47 %"
    assert bears(Bound(0.4, 0.75, None), per_cent) == "≥ 75 %"
    assert bears(Bound(2.0, 0.25, None), "{:.2g}".format, least=True) == "≤ 0.25"
    assert per_cent(0.0137) == "1.4 %"


def borne(item: Any, rh: float, rain: float = 0.01) -> Any:
    return replace(item, reserve=Reserve(Bound(0.4, rh, rh + 0.01), Bound(0.01, rain, None), None))


def test_class_goes_before_reserve_and_reserve_before_margin() -> None:
    """The wall that bears more humidity stands first though less of its limits is left."""
    humid = borne(wall("humid", 0.9, layers=thicker(0.1)), 0.60)
    dry = borne(wall("dry", 0.5, layers=thicker(0.2)), 0.45)
    rainy = borne(wall("rainy", 0.6, layers=thicker(0.3)), 0.45, rain=0.02)
    fails = borne(wall("fails", 1.2, layers=thicker(0.4)), 0.70)
    order = [item.name for item in ranked([fails, dry, rainy, humid])]
    assert order == ["humid", "rainy", "dry", "fails"]


def test_a_wet_start_stays_below_its_dry_twin() -> None:
    dry = borne(wall("dry", 0.480002), 0.4512)
    wet = borne(wall("wet", 0.480001, days=30.0, layers=wet_start()), 0.4536)
    assert [item.name for item in ranked([wet, dry])] == ["dry", "wet"]


def test_compare_shows_the_reserve_and_agrees_with_it(tmp_path) -> None:
    """At the humidity borne the comparison is within limits, just beyond it is not."""
    path = write_case(tmp_path, COARSE, ONLY_MC)
    out = tmp_path / "out"
    told = CliRunner().invoke(
        app, ["compare", str(path), "--wall", "leaky", "--reserve", "--out", str(out)]
    )
    assert told.exit_code == 0, told.output
    assert "RH in winter" in told.output
    assert "Reserve: what each wall bears" in told.output
    (entry,) = json.loads((out / "comparison.json").read_text())
    rh = entry["reserve"]["winter_rh"]
    assert rh["present"] == pytest.approx(0.45)
    assert 0.20 < rh["value"] < rh["beyond"] < 0.75, "no edge in the range: nothing to agree on"
    assert entry["reserve"]["outboard"] is None
    assert (out / "comparison.csv").read_text().splitlines()[1].count(",") > 20
    case = load(path)
    item, year = case.wall("leaky"), climate(case)
    # constant vapour is not what the search adds, but the same winter mean is: ask its own room
    _, T, p = winter_means(year, item.room)
    _, _, raised = winter_means(year, Moister(item.room, 1.0))
    for value, passes in ((rh["value"], True), (rh["beyond"], False)):
        room = Moister(item.room, (value * float(saturation_pressure(T)) - p) / (raised - p))
        more = {
            "settings": case.settings,
            "criteria": judging(case).criteria,
            "repeat": case.repeat,
        }
        found = compare(item.wall, year, room, **more)
        assert found.walls[0].passed is passes


def test_compare_ranks_by_the_humidity_that_walls_of_one_class_bear(tmp_path) -> None:
    path = write_case(tmp_path, COARSE, ONLY_MC, DRIER)

    def told(*more: str) -> list[dict[str, Any]]:
        answer = CliRunner().invoke(app, ["compare", str(path), "--json", *more])
        assert answer.exit_code == 0, answer.output
        return json.loads(answer.stdout)

    walls = told()
    assert len({item["outcome"] for item in walls}) == 1
    borne = [item["reserve"]["winter_rh"]["value"] for item in walls]
    assert len(borne) == 2
    assert borne == sorted(borne, reverse=True)
    assert all(item["reserve"]["outboard"] is None for item in walls)
    assert all(item["reserve"] is None for item in told("--no-reserve"))
