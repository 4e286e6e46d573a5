"""Random walls on a graphics card beside the processor: states, verdicts, speed.

`python -m benchmarks.card_walls --structures 100 --variants 100 --write` records
docs/results/gpu_studies.json; needs `hygro[gpu]` and a card. The walls are those of `tests/fuzz`:
any layers, gaps, leaks, rooms and weather; variants of a structure differ in azimuth, state at the
start, room and weather.
"""

from __future__ import annotations

import argparse
import multiprocessing
import pickle
import queue
import tempfile
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np

from benchmarks.card_maps import made, say
from benchmarks.common import machine, record, rounded
from hygro.assess.hourly import of_run
from hygro.assess.judge import verdict
from hygro.assess.verdict import Verdict
from hygro.errors import HygroError, InputError
from hygro.record import Marched
from hygro.solve.card import device
from hygro.solve.card.machine import Machine
from hygro.solve.card.series import Series
from hygro.solve.card.together import Here, march_lanes
from hygro.solve.ensemble import run_many
from hygro.solve.lane import Case, Lane
from hygro.solve.march import whole
from hygro.solve.settings import Settings
from hygro.solve.setup import Run, Setup, begin, prepare
from hygro.wall.elements import Initial, Layer
from tests.fuzz.random_wall import PLACES, SEEDS, drawn, random_surroundings, year

SEED, HOURS = 31, 744
"""31 days: criteria of 30 days can be judged."""
QUEUES = 32
"""Structures on the card at a time: few walls of each leave most of it free. A card has no more
ways in (`CUDA_DEVICE_MAX_CONNECTIONS`, 8 where it is not set)."""


class Told(NamedTuple):
    """What is compared of a run."""

    T: np.ndarray
    rh: np.ndarray
    counters: dict[str, int]
    closure: float
    verdict: Verdict | str


# --- random walls ---------------------------------------------------------------------------------


def variants(number: int, count: int) -> list[Case]:
    """A random wall under some loads each, turned and started anew."""
    wall, draw, _ = drawn(SEED, number)
    found: list[Case] = []
    while len(found) < count:
        layers = [
            replace(x, initial=Initial(rh=draw.within(0.2, 0.95))) if isinstance(x, Layer) else x
            for x in wall.layers
        ]
        turned = replace(wall, azimuth=draw.within(0.0, 360.0), layers=tuple(layers))
        try:
            found.append((turned, random_surroundings(turned, draw, HOURS)))
        except InputError:  # a room that the weather does not let be
            continue
    return found


def told(case: Case, got: Run | HygroError) -> Told | str:
    """What is compared of a wall; why it stopped, as far as digits do not tell."""
    if isinstance(got, HygroError):
        return str(got)[:90]
    marched = Marched(*case, Settings(), got, {})
    try:
        found: Verdict | str = verdict(of_run(marched))
    except HygroError as error:
        found = str(error)[:90]
    return Told(got.T, got.rh, got.counters, max(got.closure.values()), found)


def on_processor(setups: Sequence[Setup]) -> list[Told | str]:
    """What the processor says of walls, in lanes."""
    cases = [(s.wall, s.loads) for s in setups]
    found = dict(run_many(cases, threads=1))
    return [told(case, found[k]) for k, case in enumerate(cases)]


def laid(cases: Sequence[Case]) -> list[Setup]:
    """Walls on their grids, with loads that several have kept once."""
    series = Series()
    setups = [prepare(*case) for case in cases]
    return [s._replace(hourly=series.shared(s.hourly)) for s in setups]


def on_card(setups: Sequence[Setup], card: Machine) -> list[Run | HygroError]:
    """Results of walls of one structure in a queue of a card."""
    lanes = [Lane(k, s, whole(s, begin(s))) for k, s in enumerate(setups)]
    found = dict(march_lanes(lanes, card, Here(None, 1), lambda *_: None))
    return [found[k] for k in range(len(setups))]


def compared(ours: Told | str, theirs: Told | str) -> dict[str, Any]:
    """Differences of one wall."""
    if isinstance(ours, str) or isinstance(theirs, str):
        return {"stopped": 1, "unlike": int(ours != theirs)}
    a, b = ours.verdict, theirs.verdict
    apart = np.abs(ours.rh - theirs.rh)
    hour, cell = (int(x) for x in np.unravel_index(apart.argmax(), apart.shape))
    found = {
        "rms_T": float(np.sqrt(np.mean((ours.T - theirs.T) ** 2))),
        "rms_rh": float(np.sqrt(np.mean((ours.rh - theirs.rh) ** 2))),
        "max_T": float(np.abs(ours.T - theirs.T).max()),
        "max_rh": float(apart.max()),
        "place": {
            "hour": hour,
            "cell": cell,
            "rh": [float(x.rh[hour, cell]) for x in (ours, theirs)],
        },
        "closure": ours.closure,
        "other_steps": int(ours.counters != theirs.counters),
        "same_bits": int(np.array_equal(ours.T, theirs.T)),
    }
    if isinstance(a, str) or isinstance(b, str):
        return {**found, "unlike": int(a != b), "not_rated": 1}
    passed = [[(f.criterion.key, f.place, f.passed) for f in x.findings] for x in (a, b)]
    pairs = zip(a.findings, b.findings, strict=False)
    values = [(x.value, y.value) for x, y in pairs if x.value is not None and y.value is not None]
    return {
        **found,
        "other_verdict": int((a.outcome, a.passed) != (b.outcome, b.passed)),
        "other_findings": int(passed[0] != passed[1]),
        "value": max((abs(x - y) / max(abs(y), 1.0) for x, y in values), default=0.0),
        "outcome": b.outcome,
    }


# each phase does this for a structure, in a process of its own but on the card


def kept(folder: Path, number: int, what: str) -> Any:
    """What an earlier phase has kept of a structure."""
    return pickle.loads((folder / f"{number}.{what}").read_bytes())


def keep(folder: Path, number: int, what: str, found: Any) -> None:
    """Keep something of a structure for a later phase."""
    (folder / f"{number}.{what}").write_bytes(pickle.dumps(found))


def draw(folder: Path, count: int, number: int) -> None:
    """Draw the walls of a structure and lay their grids."""
    keep(folder, number, "setups", laid(variants(number, count)))


def march_here(folder: Path, number: int) -> None:
    """March them on the processor, and rate them."""
    keep(folder, number, "told", on_processor(kept(folder, number, "setups")))


_MARCHED: list[tuple[list[Setup], list[Run | HygroError]]] = []
"""What came from the card, by structure; processes that are forked after it have it."""


def march_there(setups: list[list[Setup]]) -> None:
    """March the walls of all structures on the card, as many at a time as there are queues."""
    free = queue.SimpleQueue[Machine]()
    for _ in range(QUEUES):
        free.put(device.Card())

    def one(some: list[Setup]) -> tuple[list[Setup], list[Run | HygroError]]:
        card = free.get()
        found = on_card(some, card)
        free.put(card)
        return some, found

    with ThreadPoolExecutor(QUEUES) as threads:
        _MARCHED.extend(threads.map(one, setups))


def compare(folder: Path, number: int) -> list[dict[str, Any]]:
    """Rate what the card made of them, and set it beside what the processor did."""
    ours = [told((s.wall, s.loads), got) for s, got in zip(*_MARCHED[number], strict=True)]
    return [compared(*both) for both in zip(ours, kept(folder, number, "told"), strict=True)]


def random_walls(structures: int, count: int, folder: Path) -> dict[str, Any]:
    """Random walls on the processor and on a card: one phase after the other, and what each took.

    Processes are forked before the card is touched, and again after it, which they do not touch.
    """
    forked, seconds, numbers = multiprocessing.get_context("fork"), {}, range(structures)

    @contextmanager
    def timed(what: str) -> Iterator[None]:
        begun = time.perf_counter()
        yield
        seconds[what] = round(time.perf_counter() - begun, 1)
        say(f"{what}: {seconds[what]} s")

    with timed("weather"):
        for place in PLACES:
            for seed in range(SEEDS):
                year(place, seed)
    few = laid(variants(0, min(count, 8)))
    with forked.Pool() as pool:
        with timed("compiled"):
            there = pool.apply_async(on_processor, [few])
            on_card(few[:1], device.Card())
            there.get()
        with timed("drawn"):
            pool.map(partial(draw, folder, count), numbers, chunksize=1)
        with timed("processor"):
            pool.map(partial(march_here, folder), numbers, chunksize=1)
    with timed("read"):
        setups = [kept(folder, number, "setups") for number in numbers]
    with timed("card"):
        march_there(setups)
    with timed("compared"), forked.Pool() as pool:
        found = pool.map(partial(compare, folder), numbers, chunksize=1)
    told_of = {"structures": structures, "hours": HOURS, "seconds": seconds}
    return {**told_of, **summed([row for rows in found for row in rows])}


def summed(rows: Sequence[dict[str, Any]]) -> dict[str, Any]:
    """The largest differences of all walls, and how many differ."""
    most = ("rms_T", "rms_rh", "max_T", "max_rh", "closure", "value")
    sums = ("stopped", "unlike", "not_rated", "other_steps", "same_bits", "other_verdict",
            "other_findings")  # fmt: skip
    worst = max(range(len(rows)), key=lambda k: rows[k].get("max_rh", 0.0))
    return {
        "walls": len(rows),
        "worst_rh": {"row": worst, **rows[worst].get("place", {})},
        **rounded({key: max(row.get(key, 0.0) for row in rows) for key in most}),
        **{key: sum(row.get(key, 0) for row in rows) for key in sums},
        "outcomes": dict(Counter(row["outcome"] for row in rows if "outcome" in row)),
    }  # fmt: skip


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--structures", type=int, default=100)
    parser.add_argument("--variants", type=int, default=100)
    parser.add_argument("--write", action="store_true", help="Record it.")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        found = random_walls(asked.structures, asked.variants, Path(folder))
    record("gpu_studies", {**made(), "random": found, "card": device.Card().name()})
    print(machine(), found, flush=True)


if __name__ == "__main__":
    main()
