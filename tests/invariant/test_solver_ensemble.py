"""Walls that run side by side: the bits of each are those of the wall by itself."""

from __future__ import annotations

import time
from dataclasses import fields, replace

import numpy as np
import pytest
import xarray as xr
from feature_walls import features
from hypothesis import HealthCheck, given
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st
from random_walls import random_loads, walls

from hygro.errors import InputError, SolveError
from hygro.material.library import get
from hygro.record import simulate_loads, simulate_many, simulate_periodic
from hygro.solve import control, lane, order
from hygro.solve.ensemble import run_many
from hygro.solve.kernels.march import march
from hygro.solve.kernels.report import report
from hygro.solve.lanes import WIDTH
from hygro.solve.march import run
from hygro.solve.order import WORTH
from hygro.solve.settings import Settings
from hygro.solve.setup import Run
from hygro.solve.turn import CHUNK
from hygro.wall.elements import Initial, Layer
from hygro.wall.leaks import AirLeak, Leaks, RainLeak
from hygro.wall.loads import Loads, loads_between
from hygro.wall.surfaces import Outside
from hygro.wall.wall import Wall

NAMES = tuple(features())


def assert_same(a: object, b: object) -> None:
    assert isinstance(a, Run)
    assert isinstance(b, Run)
    for field in fields(Run):
        one, other = getattr(a, field.name), getattr(b, field.name)
        if field.name == "ledger":
            assert all(np.array_equal(x, y) for x, y in zip(one, other, strict=True))
        elif field.name != "grid":
            assert np.array_equal(one, other) if isinstance(one, np.ndarray) else one == other, (
                field
            )


def by_itself(cases: list[tuple[Wall, Loads]]) -> list[Run]:
    return [run(wall, loads) for wall, loads in cases]


@pytest.mark.parametrize("name", NAMES)
def test_one_wall_under_many_loads(name: str) -> None:
    """Each feature of the engine, in lanes whose weather has nothing in common."""
    wall, loads = features()[name].wall, features()[name].loads
    others = [random_loads(wall, seed, loads.hours) for seed in range(WORTH)]
    cases = [(wall, x) for x in (loads, *others)]
    got = dict(run_many(cases, threads=1))
    for k, alone in enumerate(by_itself(cases)):
        assert_same(got[k], alone)


@hypothesis_settings(
    max_examples=10, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck)
)
@given(wall=walls(), seed=st.integers(0, 10_000))
def test_random_walls(wall: Wall, seed: int) -> None:
    cases = [(wall, random_loads(wall, seed + k, 60)) for k in range(WORTH)]
    got = dict(run_many(cases, threads=1))
    for k, alone in enumerate(by_itself(cases)):
        assert_same(got[k], alone)


@pytest.mark.parametrize("hours", [1, WIDTH - 1, WIDTH + 1])
def test_few_hours(hours: int) -> None:
    """A wall alone is reported at some instants side by side, of which few hours fill not all."""
    wall = features()["ventilated gap"].wall
    cases = [(wall, loads_between(random_loads(wall, k, 24), 0, hours)) for k in range(WORTH)]
    got = dict(run_many(cases, threads=1))
    for k, alone in enumerate(by_itself(cases)):
        assert_same(got[k], alone)


def wall_of(sheathing: str, rh: float, absorptance: float = 0.6) -> Wall:
    return Wall(
        sheathing,
        (
            Layer(get(sheathing), 0.0125, name="sheathing", initial=Initial(rh=rh)),
            Layer(get("glass-wool-batt"), 0.09, name="wool"),
            Layer(get("gypsum-board"), 0.0125, name="gypsum"),
        ),
        outside=Outside(absorptance=absorptance),
    )


def leaking() -> Wall:
    """Rain at the sheathing and air on both its faces, so that leaks meet in one cell."""
    wall = wall_of("osb", 0.7)
    outer = RainLeak("sheathing", 0.01)
    inner = RainLeak("sheathing", 0.02, face="inner")
    air = tuple(AirLeak("sheathing", 2e-4, face=face) for face in ("outer", "inner"))
    return replace(wall, leaks=Leaks(rain=(outer, inner), air=air))


@pytest.mark.parametrize("first", range(5))
def test_a_wall_shares_lanes_with_itself_without_some_leaks(first: int, monkeypatch) -> None:
    """Whichever comes first: each keeps the order of its own leaks, and the bits of it alone."""
    monkeypatch.setattr(order, "WORTH", 2)
    whole = leaking()
    rain, air = whole.leaks.rain, whole.leaks.air
    kinds = [
        Leaks(),
        Leaks(rain=rain[:1], air=air[1:]),
        Leaks(rain=rain[1:]),
        Leaks(rain=rain[::-1], air=air[::-1]),
        whole.leaks,
    ]
    kinds = kinds[first:] + kinds[:first]
    walls_ = [replace(whole, leaks=leaks) for leaks in kinds]
    cases = [(wall, random_loads(wall, 30 + k, 400)) for k, wall in enumerate(walls_)]
    batches = []
    made = lane.make_batch
    monkeypatch.setattr(lane, "make_batch", lambda setups: batches.append(setups) or made(setups))
    got = dict(run_many(cases, threads=1))
    assert [len(setups) for setups in batches] == [5]
    for k, alone in enumerate(by_itself(cases)):
        assert_same(got[k], alone)


def test_variants_of_a_wall_over_several_chunks() -> None:
    """More walls than lanes; other materials, starts and colours in the same places."""
    kinds = ("osb", "plywood")
    count = WIDTH + WORTH + 1
    variants = [wall_of(kinds[k % 2], 0.5 + 0.03 * k, 0.06 * k) for k in range(count)]
    cases = [(wall, random_loads(wall, k, CHUNK + 30)) for k, wall in enumerate(variants)]
    got = dict(run_many(cases, threads=2))
    assert set(got) == set(range(len(cases)))
    for k, alone in enumerate(by_itself(cases)):
        assert_same(got[k], alone)


def test_walls_that_have_nothing_in_common() -> None:
    """Gaps, sheets, contacts, leaks, air through the wall and none of them, side by side."""
    cases = [(x.wall, x.loads) for x in features().values()]
    got = dict(run_many(cases, threads=1))
    for k, alone in enumerate(by_itself(cases)):
        assert_same(got[k], alone)


@hypothesis_settings(
    max_examples=6, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck)
)
@given(some=st.lists(walls(), min_size=WORTH, max_size=WIDTH), seed=st.integers(0, 10_000))
def test_random_walls_of_other_structure(some: list[Wall], seed: int) -> None:
    cases = [(wall, random_loads(wall, seed + k, 60)) for k, wall in enumerate(some)]
    got = dict(run_many(cases, threads=1))
    for k, alone in enumerate(by_itself(cases)):
        assert_same(got[k], alone)


def test_a_lane_is_taken_by_the_next_wall(monkeypatch) -> None:
    """Loads of one to three chunks: walls end at different times, and more wait than fit."""
    hours = (30, CHUNK, CHUNK + 1, 2 * CHUNK + 40)
    kinds = [features()[name].wall for name in ("no gap", "rain leak", "rain on brick")]
    cases = [
        (wall, random_loads(wall, 40 + k, hours[k % 4]))
        for k, wall in enumerate(kinds[k % 3] for k in range(WIDTH + 4))
    ]
    sizes, made = [], lane.make_batch
    monkeypatch.setattr(
        lane, "make_batch", lambda setups: sizes.append(len(setups)) or made(setups)
    )
    got = dict(run_many(cases, threads=1))
    assert sizes[:2] == [WIDTH, WIDTH], "the lanes that were free after the first chunk are taken"
    for k, alone in enumerate(by_itself(cases)):
        assert_same(got[k], alone)


def test_a_wall_that_stops_leaves_the_others_be() -> None:
    """A step of 6 s at least cannot follow two of these years, each on a day of its own."""
    wall, stiff = wall_of("osb", 0.6), Settings(min_step=6.0)
    cases = [(wall, random_loads(wall, seed, 2 * CHUNK)) for seed in (5, 6, 9, 8, 6)]
    got = dict(run_many(cases, stiff, threads=1))
    for k in (0, 3):
        with pytest.raises(SolveError) as alone:
            run(*cases[k], stiff)
        assert str(got[k]) == str(alone.value)
    for k in (1, 2, 4):
        assert_same(got[k], run(*cases[k], stiff))


def test_a_wall_that_cannot_start_leaves_the_others_be() -> None:
    wall = wall_of("osb", 0.6)
    wet = replace(wall.layers[0], initial=Initial(moisture_content=9.0))
    full = replace(wall, name="too full", layers=(wet, *wall.layers[1:]))
    cases = [(wall, random_loads(wall, seed, 30)) for seed in range(WORTH + 1)]
    cases[2] = (full, cases[2][1])
    got = dict(run_many((case for case in cases), threads=1))
    assert isinstance(got[2], InputError)
    assert "wall 'too full'" in str(got[2])
    for k in {*range(WORTH + 1)} - {2}:
        assert_same(got[k], run(*cases[k]))


def test_loads_of_another_wall_are_refused() -> None:
    wall = wall_of("osb", 0.6)
    leaky = replace(wall, leaks=Leaks(rain=(RainLeak("sheathing"),)))
    with pytest.raises(InputError, match=r"loads.source has 0 columns: must be 1"):
        run(leaky, random_loads(wall, 1, 30))
    cases = [(leaky, random_loads(wall if k == 1 else leaky, k, 30)) for k in range(WORTH)]
    got = dict(run_many(cases, threads=1))
    assert isinstance(got[1], InputError)
    assert_same(got[0], run(*cases[0]))


def test_a_loop_that_is_left_ends_what_still_runs() -> None:
    """What nobody waits for ends after the chunk it is in: long before its five years."""
    wall = wall_of("osb", 0.6)
    short, long = random_loads(wall, 1, 30), random_loads(wall, 2, 5 * 8760)
    list(run_many([(wall, short)]))
    began = time.process_time()
    run(wall, long)
    whole = time.process_time() - began
    results = run_many([(wall, short), *[(wall, long)] * 2], threads=3)
    assert next(results)[0] == 0
    began = time.process_time()
    results.close()
    assert time.process_time() - began < 0.5 * whole  # a chunk is 1/130 of it


def test_threads_are_at_least_one() -> None:
    with pytest.raises(InputError, match="threads = 0"):
        list(run_many([], threads=0))
    assert list(run_many([])) == []


def test_records_of_many_walls_are_those_of_one() -> None:
    wall = wall_of("osb", 0.6)
    cases = [(wall, random_loads(wall, seed, 50)) for seed in range(WORTH)]
    for k, record in simulate_many(cases, threads=1, provenance={"project": "invented"}):
        assert isinstance(record, xr.Dataset)
        alone = simulate_loads(*cases[k], provenance={"project": "invented"})
        assert record.identical(alone)


def test_closure_in_company() -> None:
    wall = wall_of("osb", 0.9)
    cases = [(wall, random_loads(wall, k, 2 * CHUNK)) for k in range(WIDTH)]
    for _, got in run_many(cases, threads=1):
        assert isinstance(got, Run)
        assert max(got.closure.values()) < 1e-10


def test_another_wall_compiles_nothing() -> None:
    """Cells, layers, gaps, sheets and sources are sizes of arrays, not kinds of them."""
    run(features()[NAMES[0]].wall, features()[NAMES[0]].loads)
    known = [len(kernel.signatures) for kernel in (march, report)]
    for name in NAMES:
        run(features()[name].wall, features()[name].loads)
    assert [len(kernel.signatures) for kernel in (march, report)] == known


def test_periodic_years_side_by_side_are_those_of_each_wall(monkeypatch) -> None:
    """Lanes that need two to several rounds; each record has the bits of its own run."""
    monkeypatch.setattr(order, "WORTH", 2)
    variants = [wall_of("osb", rh) for rh in (0.3, 0.5, 0.7, 0.9, 0.97, 0.999)]
    loads = [random_loads(wall, k, 8760) for k, wall in enumerate(variants)]
    sizes, made = [], lane.make_batch
    monkeypatch.setattr(
        lane, "make_batch", lambda setups: sizes.append(len(setups)) or made(setups)
    )
    cases = zip(variants, loads, strict=True)
    got = dict(simulate_many(cases, periodic=True, rounds=6, threads=1))
    assert sizes[0] == len(variants)
    rounds = set()
    for k, wall in enumerate(variants):
        alone = simulate_periodic(wall, loads[k], rounds=6)
        rounds.add(alone.attrs["periodic_rounds"])
        assert got[k].attrs["periodic_rounds"] == alone.attrs["periodic_rounds"]
        assert got[k].attrs["periodic_drift"] == alone.attrs["periodic_drift"]
        assert np.array_equal(got[k]["water_content"].values, alone["water_content"].values)
        assert np.array_equal(got[k]["temperature"].values, alone["temperature"].values)
    assert len(rounds) > 1, "all lanes settle in the same round: nothing waits"


@pytest.mark.parametrize(("seed", "rh"), [(7, 0.5), (17, 0.999)])
def test_frost_that_comes_and_goes_does_not_stop_a_wall(seed: int, rh: float) -> None:
    """February of two of forty such years: straight on from one arm of the heat of freezing water,
    Newton went past the other, to and fro until the step was too short.
    """
    wall = wall_of("osb", rh)
    ours = run(wall, loads_between(random_loads(wall, seed, 8760), 0, 1400))
    assert ours.ice.max() > 1.0
    assert ours.closure["energy"] <= 1e-8


def test_a_wall_that_stops_says_the_same_in_company(monkeypatch: pytest.MonkeyPatch) -> None:
    """Its last updates name the place; the error of steps that others end may not stand there."""
    monkeypatch.setattr(control, "NEWTON_LIMIT", 2)
    wall, loads = features()["ice and condensate"].wall, features()["ice and condensate"].loads
    cases = [(wall, random_loads(wall, seed, loads.hours)) for seed in range(WIDTH)]
    settings = Settings(min_step=300.0)
    together = dict(run_many(cases, settings, threads=1))
    said = {k: str(x) for k, x in together.items() if isinstance(x, SolveError)}
    assert len(said) > 1
    for k, text in said.items():
        with pytest.raises(SolveError) as alone:
            run(*cases[k], settings)
        assert str(alone.value) == text
