"""Walls on a graphics card: tiles, shared loads, the answers of the processor, what code is made.

What needs a card is marked `gpu`. The same driver runs with the processor in place of a card, whose
results must have the bits of lanes.
"""

from __future__ import annotations

import sys
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from card_stand_in import StandIn
from feature_walls import features, layer
from random_walls import random_loads

from hygro.errors import InputError, SolveError
from hygro.solve.card import device
from hygro.solve.card.batch import distinct, make_batch, shared
from hygro.solve.card.machine import Machine
from hygro.solve.card.through import through
from hygro.solve.card.tiles import TILE, by_wall, tiled
from hygro.solve.card.together import in_tiles
from hygro.solve.ensemble import run_many
from hygro.solve.kernels.arrays import DX
from hygro.solve.lane import Case
from hygro.solve.march import Job, Progress, run, whole
from hygro.solve.periodic import Cycle, cycle, until_periodic
from hygro.solve.problem import build_problem
from hygro.solve.settings import Settings
from hygro.solve.setup import Checkpoint, Run, Setup, balance, begin, prepare
from hygro.solve.turn import CHUNK
from hygro.wall.elements import Layer
from hygro.wall.loads import Loads
from hygro.wall.wall import Wall

NAMES = ("open gap", "rain leak", "rain on brick")


def card() -> device.Card:
    try:
        return device.Card()
    except InputError as missing:
        pytest.skip(str(missing))


def cases_of(name: str) -> list[tuple[Wall, Loads]]:
    """More than a tile of walls."""
    wall, loads = features()[name].wall, features()[name].loads
    return [(wall, random_loads(wall, seed, loads.hours)) for seed in range(TILE + 3)]


@pytest.mark.parametrize("shape", [(3, 5, 70), (4, 64), (0, 2, 33), (7, 1)])
def test_tiles_keep_every_value(shape: tuple[int, ...]) -> None:
    """Value (i, c) of wall g lies in its tile at its place; and comes back."""
    array = np.arange(float(np.prod(shape))).reshape(shape)
    tiles = tiled(array)
    walls = shape[-1]
    assert tiles.shape == (-(-walls // TILE), *shape[:-1], TILE)
    for g in (0, walls // 2, walls - 1):
        assert np.array_equal(tiles[g // TILE, ..., g % TILE], array[..., g])
    assert np.array_equal(by_wall(tiles, walls), np.moveaxis(array, -1, 0))


def test_equal_series_stand_once() -> None:
    """One climate for three walls is one set; a last hour with more rain is another of means."""
    wall, loads = features()["rain on brick"]
    rain = loads.outside.rain.copy()
    rain[-1] += 1e-5
    wet = replace(loads.outside, rain=rain)
    setups = [prepare(wall, x) for x in (loads, replace(loads, outside=wet), loads, loads)]
    series, of = shared(setups, setups[0].problem.source)
    assert [len(x) for x in series] == [1, 2, 1, 1, 1, 1, 1, 1]
    assert of[0].tolist() == [0, 0, 0, 0]
    assert of[1].tolist() == [0, 1, 0, 0]
    assert series.mean[1, :, 0, 1] == pytest.approx(rain)


def test_walls_that_are_alike_are_laid_out_once() -> None:
    """Turned walls differ in their loads alone; a hundredth of a millimetre makes another wall."""
    thin, thick = board(0.5), board(0.5)
    last = thick.layers[-1]
    assert isinstance(last, Layer)
    thick = replace(thick, layers=(*thick.layers[:-1], replace(last, thickness=0.01251)))
    walls = [thin, replace(thin, azimuth=90.0), thick, thin]
    setups = prepared([(wall, random_loads(wall, 3, 72)) for wall in walls])
    problem, of = distinct(build_problem([s.part for s in setups], len(setups)))
    assert of.tolist() == [0, 0, 1, 0]
    assert problem.cell.width == 2
    for k, setup in enumerate(setups):
        own = setup.problem.cell.array[:, DX, 0]
        assert np.array_equal(problem.cell.array[:, DX, of[k]], own)


def assert_close(got: object, other: Run, bits: bool) -> None:
    assert isinstance(got, Run)
    assert max(got.closure.values()) < 1e-8
    if bits:
        assert np.array_equal(got.T, other.T)
        assert np.array_equal(got.rh, other.rh)
        assert np.array_equal(got.interface_p, other.interface_p)
        assert all(np.array_equal(a, b) for a, b in zip(got.ledger, other.ledger, strict=True))
    else:
        assert np.sqrt(np.mean((got.T - other.T) ** 2)) < 1e-6
        assert np.sqrt(np.mean((got.rh - other.rh) ** 2)) < 1e-8


def untold(place: int, fraction: float, date: np.datetime64) -> None:
    """Nobody listens."""


def marched(cases: list[Case], machine: Machine, settings: Settings) -> dict[int, object]:
    def start(setup: Setup, progress: Progress) -> Job[Run]:
        return whole(setup, begin(setup), progress)

    return dict(in_tiles(cases, settings, start, machine, untold))


def assert_answers(machine: Machine, cases: list[Case], bits: bool) -> None:
    """Those of the processor, from whole results and from the end alone."""
    setups = prepared(cases)
    got = marched(cases, machine, Settings())
    ends = list(through(make_batch(setups, machine), [begin(s) for s in setups]))
    for k in (0, 1, TILE - 1, TILE, TILE + 2):
        assert_close(got[k], run(*cases[k]), bits)
        assert_ends(ends[k], got[k], setups[k])


def assert_ends(end: Checkpoint | SolveError, got: object, setup: Setup) -> None:
    assert isinstance(end, Checkpoint)
    assert isinstance(got, Run)
    assert np.array_equal(end.T, got.T[-1])
    assert max(balance(setup, end).values()) < 1e-8


def by_itself(case: tuple[Wall, Loads], settings: Settings) -> Run | SolveError:
    try:
        return run(*case, settings)
    except SolveError as error:
        return error


def board(rh: float) -> Wall:
    parts = (layer("sheathing", "osb", 0.0125, rh), layer("wool", "glass-wool-batt", 0.09))
    return Wall("osb", (*parts, layer("gypsum", "gypsum-board", 0.0125)))


def assert_rounds(machine: Machine, bits: bool) -> None:
    """Walls that settle in other rounds than those beside them: those left go on."""
    walls, drift = [board(rh) for rh in (0.3, 0.6, 0.9)], 0.23
    cases = [(wall, without_rain(random_loads(wall, 3, 72))) for wall in walls]

    def start(setup: Setup, progress: Progress) -> Job[Cycle]:
        return cycle(setup, drift=drift, progress=progress)

    got, years = dict(in_tiles(cases, Settings(), start, machine, untold)), set()
    for k, case in enumerate(cases):
        ours, theirs = got[k], until_periodic(prepare(*case), drift=drift)
        assert isinstance(ours, Cycle)
        assert ours.years == theirs.years
        assert ours.start.u == pytest.approx(theirs.start.u, rel=0.0, abs=0.0 if bits else 1e-8)
        years.add(ours.years)
    assert len(years) > 1, "all settle in the same round: none is left"


def without_rain(loads: Loads) -> Loads:
    none = np.zeros_like(loads.outside.rain)
    return replace(loads, outside=replace(loads.outside, rain=none))


def assert_stops(machine: Machine) -> None:
    """A step of 6 s at least cannot follow two of these years; the walls beside them go on."""
    wall, stiff = board(0.6), Settings(min_step=6.0)
    cases = [(wall, random_loads(wall, seed, 2 * CHUNK)) for seed in (5, 6, 9, 8)]
    setups = [prepare(*case, stiff) for case in cases]
    got, stopped = marched(cases, machine, stiff), 0
    ends = list(through(make_batch(setups, machine), [begin(s) for s in setups]))
    for k, case in enumerate(cases):
        alone = by_itself(case, stiff)
        if isinstance(alone, SolveError):
            # the day and place; digits of what is left over differ
            assert str(got[k])[:90] == str(ends[k])[:90] == str(alone)[:90]
            stopped += 1
        else:
            assert_close(got[k], alone, bits=False)
            assert_ends(ends[k], got[k], setups[k])
    assert 0 < stopped < len(cases)


def prepared(cases: list[tuple[Wall, Loads]]) -> list[Setup]:
    return [prepare(wall, loads) for wall, loads in cases]


@pytest.mark.slow
@pytest.mark.parametrize("name", NAMES)
def test_a_processor_in_place_of_a_card_gives_the_same_bits(name: str) -> None:
    cases = cases_of(name)
    assert_answers(StandIn(), cases, bits=True)


@pytest.mark.gpu
@pytest.mark.parametrize("name", NAMES)
def test_a_card_gives_the_answers_of_the_processor(name: str) -> None:
    cases = cases_of(name)
    assert_answers(card(), cases, bits=False)


@pytest.mark.slow
def test_walls_in_tiles_settle_each_in_its_round() -> None:
    assert_rounds(StandIn(), bits=True)


@pytest.mark.gpu
def test_walls_on_a_card_settle_each_in_its_round() -> None:
    assert_rounds(card(), bits=False)


@pytest.mark.slow
def test_a_wall_that_stops_in_tiles_leaves_the_others_be() -> None:
    assert_stops(StandIn())


@pytest.mark.gpu
def test_a_wall_that_stops_on_a_card_leaves_the_others_be() -> None:
    assert_stops(card())


@pytest.mark.gpu
def test_many_walls_on_a_card() -> None:
    card()
    cases = cases_of("rain leak")[:5]
    for k, got in run_many(cases, device="gpu"):
        assert_close(got, run(*cases[k]), bits=False)


def test_without_the_package_it_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    device.compiler.cache_clear()
    monkeypatch.setitem(sys.modules, "numba_cuda", None)
    try:
        with pytest.raises(InputError, match=r'numba-cuda .*pip install "hygro\[gpu\]"'):
            list(run_many([features()["no gap"]], device="gpu"))
    finally:
        device.compiler.cache_clear()


def test_an_unknown_device_is_refused() -> None:
    with pytest.raises(InputError, match="device = 'cuda': must be one of: cpu, gpu"):
        list(run_many([], device="cuda"))


def signatures() -> dict[str, tuple[Any, ...]]:
    """Types of the arguments of each function, from those that a stand-in is given."""
    from numba.cuda.typing.typeof import typeof

    seen: dict[str, tuple[Any, ...]] = {}

    class Listens(StandIn):
        def run(self, kernel: str, walls: int, *args: object) -> None:
            seen[kernel] = tuple(typeof(a) for a in (walls, *args))

    setups = prepared(cases_of("rain leak")[:2])
    list(through(make_batch(setups, Listens()), [begin(s) for s in setups], reported=True))
    return seen


@pytest.mark.parametrize("kernel", ["march_wall", "report_wall", "sum_wall"])
def test_kernels_lower_to_code_of_a_card(kernel: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Products and sums are rounded one by one; arrays are apart, so that reads pass writes."""
    try:
        cuda = device.compiler()
    except InputError as missing:
        pytest.skip(str(missing))
    from numba import types
    from numba.cuda import dispatcher

    hopper = SimpleNamespace(compute_capability=(9, 0))
    monkeypatch.setattr(dispatcher, "get_current_device", lambda: hopper)
    with device._as_meant():
        code, _ = cuda.compile(
            device.kernels()[kernel], types.void(*signatures()[kernel]), device=False,
            abi="numba", cc=(9, 0), output="ptx",
        )  # fmt: skip
    assert ".target sm_90" in code
    assert "add.rn.f64" in code
    assert not any(loose in code for loose in ("\tadd.f64", "\tmul.f64", "\tsub.f64"))
    assert "ld.global.nc" in code
