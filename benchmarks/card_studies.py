"""Random walls and studies on a graphics card beside the processor: states, verdicts, speed.

`python -m benchmarks.card_studies --structures 625 --variants 16 --runs 1024 --write` records
docs/results/gpu_studies.json; needs `hygro[gpu]` and a card. The walls are those of `tests/fuzz`:
any layers, gaps, leaks, rooms and weather; the variants of a structure differ in azimuth, state at
the start, room and weather. A study is one wall of the demonstration, two years, all leaks, from
the plan to rows in a store in memory.
"""

from __future__ import annotations

import argparse
import multiprocessing
import os
import threading
import time
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from importlib.metadata import version
from typing import Any, NamedTuple

import numpy as np

from benchmarks.common import machine, record, rounded
from hygro.assess.hourly import of_run
from hygro.assess.judge import verdict
from hygro.assess.verdict import Verdict
from hygro.decide.rate import Row
from hygro.decide.study import Study
from hygro.errors import HygroError, InputError
from hygro.record import Marched
from hygro.solve.card import device
from hygro.solve.card.together import on_machines
from hygro.solve.ensemble import Case
from hygro.solve.march import Job, Progress, run, whole
from hygro.solve.settings import Settings
from hygro.solve.setup import Run, Setup, begin
from hygro.wall.elements import Initial, Layer
from tests.fuzz.random_wall import drawn, random_surroundings

SEED, HOURS = 31, 600
QUEUES = 12
"""Structures on the card at a time: few walls of each leave most of it free."""
WALL = "all outboard"
BETWEEN = {"low": 0.25, "high": 0.60}
"""Winter RH of the study. [1]"""


BEGUN = time.perf_counter()


class Told(NamedTuple):
    """What is compared of a run."""

    T: np.ndarray
    rh: np.ndarray
    counters: dict[str, int]
    closure: float
    verdict: Verdict | str


def say(what: str) -> None:
    """Tell how far it is."""
    print(f"{time.perf_counter() - BEGUN:6.0f} s: {what}", flush=True)


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


def on_processor(number: int, count: int) -> list[Told | str]:
    """What the processor says of the variants of a wall."""
    found = []
    for case in variants(number, count):
        try:
            got: Run | HygroError = run(*case)
        except HygroError as error:
            got = error
        found.append(told(case, got))
    return found


def on_card(cases: Sequence[Case]) -> list[Run | HygroError]:
    """Results of a card."""

    def start(setup: Setup, progress: Progress) -> Job[Run]:
        return whole(setup, begin(setup), progress)

    machines = [device.Card() for _ in range(QUEUES)]
    work, found = on_machines(cases, Settings(), start, machines), dict[int, Run | HygroError]()
    threads = [
        threading.Thread(target=lambda: found.update(work(lambda *_: None))) for _ in machines
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return [found[k] for k in range(len(cases))]


def compared(ours: Told | str, theirs: Told | str) -> dict[str, Any]:
    """Differences of one wall."""
    if isinstance(ours, str) or isinstance(theirs, str):
        return {"stopped": 1, "unlike": int(ours != theirs)}
    a, b = ours.verdict, theirs.verdict
    found = {
        "rms_T": float(np.sqrt(np.mean((ours.T - theirs.T) ** 2))),
        "rms_rh": float(np.sqrt(np.mean((ours.rh - theirs.rh) ** 2))),
        "max_T": float(np.abs(ours.T - theirs.T).max()),
        "max_rh": float(np.abs(ours.rh - theirs.rh).max()),
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


_PAIRS: list[tuple[tuple[Case, Run | HygroError], Told | str]] = []


def _compared(k: int) -> dict[str, Any]:
    marched, theirs = _PAIRS[k]
    return compared(told(*marched), theirs)


def random_walls(structures: int, count: int) -> dict[str, Any]:
    """Random walls on a card and on the processor."""
    forked = multiprocessing.get_context("fork")
    asked = [(number, count) for number in range(structures)]
    with forked.Pool() as pool:  # before the card is touched
        first = pool.apply_async(on_processor, asked[0])  # compiles there
        drawing = pool.starmap_async(variants, asked, chunksize=1)
        on_card(variants(0, 1))  # compiles here
        say("compiled for the card")
        drawn_, one = [case for some in drawing.get() for case in some], first.get()
        waiting = pool.starmap_async(on_processor, asked[1:], chunksize=1)
        say(f"{len(drawn_)} walls drawn")
        begun = time.perf_counter()
        marched = list(zip(drawn_, on_card(drawn_), strict=True))
        spent = time.perf_counter() - begun
        say("marched on the card")
        theirs = [x for some in (one, *waiting.get()) for x in some]
        say("marched here")
    _PAIRS.extend(zip(marched, theirs, strict=True))
    with forked.Pool() as pool:  # has them all, and does not touch the card
        rows = pool.map(_compared, range(len(_PAIRS)), chunksize=16)
    most = ("rms_T", "rms_rh", "max_T", "max_rh", "closure", "value")
    sums = ("stopped", "unlike", "not_rated", "other_steps", "same_bits", "other_verdict",
            "other_findings")  # fmt: skip
    return {
        "walls": len(rows), "structures": structures, "hours": HOURS, "seconds": round(spent, 1),
        **rounded({key: max(row.get(key, 0.0) for row in rows) for key in most}),
        **{key: sum(row.get(key, 0) for row in rows) for key in sums},
        "outcomes": dict(Counter(row["outcome"] for row in rows if "outcome" in row)),
    }  # fmt: skip


# --- a study --------------------------------------------------------------------------------------


def rows_of(runs: int, what: str) -> tuple[list[Row], float]:
    """Rows of a study, and how long they took. [s]"""
    begun = time.perf_counter()
    vary = {"winter_rh": {**BETWEEN, "steps": runs // 16},
            "rain_leak": {"low": 0.0, "high": 0.02, "steps": 16}}  # fmt: skip
    study = Study("demonstration", wall=WALL, vary=vary, leaks="all", device=what)
    study.run(processes=os.cpu_count())
    found = [study.rows[run.sha256] for run in study.plan.runs]
    return found, time.perf_counter() - begun


def a_study(runs: int) -> dict[str, Any]:
    """The same study on both, each after a small one that compiles."""
    for what in ("gpu", "cpu"):
        rows_of(32, what)
    (ours, card), (theirs, cpu) = rows_of(runs, "gpu"), rows_of(runs, "cpu")
    pairs = list(zip(ours, theirs, strict=True))
    years = sum(row.years for row in theirs)
    numbers = [
        abs(a.numbers[key] - x) / max(abs(x), 1.0)
        for a, b in pairs
        for key, x in b.numbers.items()
        if isinstance(x, float)
    ]
    told_of = [[(x.state, x.outcome, x.passed, x.decides) for x in some] for some in (ours, theirs)]
    return {
        "runs": len(pairs),
        "other_verdicts": sum(a != b for a, b in zip(*told_of, strict=True)),
        "closure": max(max(a.quality[f"closure_{x}"] for x in ("energy", "moisture"))
                       for a in ours),
        **rounded({"number": max(numbers), "card_years_per_s": years / card,
                   "cores_years_per_s": years / cpu}),
    }  # fmt: skip


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--structures", type=int, default=40)
    parser.add_argument("--variants", type=int, default=16)
    parser.add_argument("--runs", type=int, default=0, help="Of the study; 0: none.")
    parser.add_argument("--write", action="store_true", help="Record it.")
    asked = parser.parse_args()
    found: dict[str, Any] = {"made": time.strftime("%Y-%m-%d"), "cores": os.cpu_count()}
    found["packages"] = {name: version(name) for name in ("numba-cuda", "numba")}
    found["random"] = random_walls(asked.structures, asked.variants)
    print(found["random"], flush=True)
    found["card"] = device.Card().name()
    record("gpu_studies", found)
    if asked.runs:
        found["study"] = a_study(asked.runs)
        record("gpu_studies", found)
    print(machine(), found, flush=True)


if __name__ == "__main__":
    main()
