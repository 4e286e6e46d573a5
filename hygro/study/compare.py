"""Several walls in one climate: run each, with and without its leaks, and rank them by margin.

Owns the plan, the processes and the ranking; knows no case file and draws nothing. A run is a pure
function of wall, climate, room and settings, so the plan may run in any order and in any process.
"""

from __future__ import annotations

import json
import os
import signal
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from multiprocessing import get_context
from pathlib import Path
from queue import Empty
from typing import Any

import numpy as np
import xarray as xr

from hygro.assess.criteria import CRITERIA, Criterion
from hygro.assess.digest import summary
from hygro.assess.judge import verdict
from hygro.assess.verdict import Verdict
from hygro.errors import SolveError
from hygro.record import save, simulate
from hygro.solve.settings import Settings
from hygro.study.hand import HandNumbers, hand_numbers
from hygro.study.trace import Trace, trace
from hygro.wall.assembly import Wall
from hygro.wall.room_models import Room

Progress = Callable[[int, float, str], None]
"""Called with the number of the run, the fraction done and the date reached."""


@dataclass(frozen=True)
class Run:
    """One run of a plan.

    Attributes
    ----------
    name : str
        Of the wall, without a word on leaks.
    leaks : bool
        Whether the leaks of the wall are on.
    file : Path or None
        Where the result is saved.
    """

    name: str
    wall: Wall
    room: Room
    leaks: bool
    sheathing: str | None = None
    file: Path | None = None
    provenance: dict[str, Any] = field(default_factory=dict)


@dataclass(frozen=True)
class Judging:
    """How runs are judged: the parameters of `hygro.assess.verdict`."""

    criteria: tuple[Criterion, ...] = CRITERIA
    skip_days: float = 0.0
    mould_model: str = "ojanen2010"


@dataclass(frozen=True)
class Outcome:
    """What is kept of a run: its verdict, numbers and daily traces, not its fields.

    Attributes
    ----------
    numbers : dict
        See `hygro.assess.SUMMARY`.
    quality : dict
        Closures and counts of the run, as the record states them.
    seconds : float
        Wall time of the run with its rating. [s]
    """

    run: Run
    verdict: Verdict
    numbers: dict[str, object]
    hand: HandNumbers
    trace: Trace
    quality: dict[str, object]
    seconds: float

    @property
    def margin(self) -> float:
        """Least margin of the hard criteria; infinite where none could be judged. [1]"""
        worst = self.verdict.worst
        return np.inf if worst is None or worst.margin is None else worst.margin


@dataclass(frozen=True)
class Compared:
    """A wall without and, where it has any, with its leaks."""

    name: str
    tight: Outcome
    leaky: Outcome | None

    @property
    def outcomes(self) -> tuple[Outcome, ...]:
        """One or two outcomes, without leaks first."""
        return (self.tight,) if self.leaky is None else (self.tight, self.leaky)

    @property
    def passed(self) -> bool | None:
        """Whether every run of the wall passes; None where a hard criterion was not judged."""
        results = [outcome.verdict.passed for outcome in self.outcomes]
        return False if False in results else None if None in results else True

    @property
    def margin(self) -> float:
        """Least margin over the runs of the wall. [1]"""
        return min(outcome.margin for outcome in self.outcomes)


def plan(
    walls: Sequence[tuple[Wall, Room, str | None]],
    *,
    folder: Path | None = None,
    provenance: dict[str, Any] | None = None,
) -> tuple[Run, ...]:
    """Return the runs that compare some walls: each without leaks, and with them if it has any.

    Parameters
    ----------
    walls : sequence of (Wall, Room, sheathing)
        What to compare.
    folder : Path, optional
        Where the results are saved.
    provenance : dict, optional
        What every record says of its origin.
    """
    runs = []
    for wall, room, sheathing in walls:
        for with_leaks in (False, True) if has_leaks(wall) else (False,):
            name = f"{slug(wall.name)}{' with leaks' if with_leaks else ''}".replace(" ", "-")
            runs.append(
                Run(
                    name=wall.name,
                    wall=wall if with_leaks else without_leaks(wall),
                    room=room,
                    leaks=with_leaks,
                    sheathing=sheathing,
                    file=None if folder is None else folder / f"{name}.nc",
                    provenance=provenance or {},
                )
            )
    return tuple(runs)


def has_leaks(wall: Wall) -> bool:
    """Say whether anything gets into the wall besides diffusion."""
    return bool(wall.rain_leaks or wall.wettings or wall.air_leaks or wall.air_flow)


def without_leaks(wall: Wall) -> Wall:
    """Return the wall with nothing getting in."""
    return replace(wall, rain_leaks=(), wettings=(), air_leaks=(), air_flow=None)


def slug(name: str) -> str:
    """Name made fit for a file."""
    return "-".join("".join(c if c.isalnum() else " " for c in name.lower()).split())


def perform(
    runs: Sequence[Run],
    climate: xr.Dataset,
    *,
    settings: Settings,
    judging: Judging,
    progress: Progress | None = None,
    processes: int | None = None,
) -> tuple[Outcome, ...]:
    """Perform runs, in processes where there are several, and return outcomes in their order.

    Parameters
    ----------
    runs : sequence of Run
        The plan.
    climate : Dataset
        Canonical weather for all of them.
    settings, judging : Settings, Judging
        For all of them.
    progress : callable, optional
        See `Progress`.
    processes : int, optional
        1 runs in this process. None: one for each core, but not more than runs.
    """
    count = min(processes or os.cpu_count() or 1, len(runs))
    if count < 2:
        return tuple(
            _one(i, run, climate, settings, judging, progress) for i, run in enumerate(runs)
        )
    return _parallel(runs, climate, settings, judging, progress, count)


def _one(
    number: int,
    run: Run,
    climate: xr.Dataset,
    settings: Settings,
    judging: Judging,
    progress: Progress | None,
) -> Outcome:
    def tell(fraction: float, date: object) -> None:
        if progress is not None:
            progress(number, fraction, str(date)[:10])

    began = time.perf_counter()
    provenance = {**run.provenance, "leaks": "on" if run.leaks else "off"}
    ds = simulate(
        run.wall, climate, run.room, settings=settings, provenance=provenance, progress=tell
    )
    if run.file is not None:
        save(ds, run.file)
    options: dict[str, Any] = {
        "sheathing": run.sheathing,
        "skip_days": judging.skip_days,
        "mould_model": judging.mould_model,
    }
    found = verdict(ds, criteria=judging.criteria, **options)
    outcome = Outcome(
        run=run,
        verdict=found,
        numbers=summary(ds, **options),
        hand=hand_numbers(run.wall, climate, run.room, found.sheathing),
        trace=trace(ds, found.sheathing, mould_model=judging.mould_model),
        quality=quality(ds),
        seconds=time.perf_counter() - began,
    )
    tell(1.0, "")
    return outcome


def quality(ds: xr.Dataset) -> dict[str, object]:
    """Return the closures, step counts and assumptions that a record states."""
    numbers = ("closure_energy", "closure_moisture", "steps", "steps_rejected", "stage_retries")
    found: dict[str, object] = {key: _python(ds.attrs[key]) for key in numbers}
    return {**found, "assumptions": json.loads(ds.attrs["assumptions"])}


def _python(value: object) -> object:
    return value.item() if isinstance(value, np.generic) else value


_shared: dict[str, Any] = {}


def _start(climate: xr.Dataset, settings: Settings, judging: Judging, queue: Any) -> None:
    """Prepare a worker: what all runs share, and no answer to Ctrl-C (the parent ends it)."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    _shared.update(climate=climate, settings=settings, judging=judging, queue=queue)


def _work(number: int, run: Run) -> Outcome:
    last = -1.0

    def tell(index: int, fraction: float, date: str) -> None:
        nonlocal last
        if fraction - last >= 0.02 or fraction >= 1.0:
            last = fraction
            _shared["queue"].put((index, fraction, date))

    shared = _shared
    return _one(number, run, shared["climate"], shared["settings"], shared["judging"], tell)


def _parallel(
    runs: Sequence[Run],
    climate: xr.Dataset,
    settings: Settings,
    judging: Judging,
    progress: Progress | None,
    count: int,
) -> tuple[Outcome, ...]:
    context = get_context("spawn")
    queue = context.Queue()
    pool = ProcessPoolExecutor(
        count, context, initializer=_start, initargs=(climate, settings, judging, queue)
    )
    try:
        with _interrupt_later():
            futures = [pool.submit(_work, i, run) for i, run in enumerate(runs)]
        _watch(futures, queue, progress)
        outcomes = tuple(future.result() for future in futures)
    except BrokenProcessPool as error:
        _stop(pool, runs)
        raise SolveError(
            "a process ended before its run was done; was memory short? try --processes 1"
        ) from error
    except BaseException:
        _stop(pool, runs)
        raise
    pool.shutdown()
    return outcomes


@contextmanager
def _interrupt_later() -> Iterator[None]:
    """Hold Ctrl-C back while workers start, so that none starts unseen.

    Workers inherit the blocked signal and leave Ctrl-C to the parent. The handler is needed beside
    it because another thread of this process may be given the signal.
    """
    if not _in_charge_of_signals():
        yield
        return
    came: list[int] = []
    handler = signal.signal(signal.SIGINT, lambda number, _: came.append(number))
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
        signal.signal(signal.SIGINT, handler)
    if came:
        raise KeyboardInterrupt


def _in_charge_of_signals() -> bool:
    is_main = threading.current_thread() is threading.main_thread()
    return is_main and hasattr(signal, "pthread_sigmask")


def _stop(pool: ProcessPoolExecutor, runs: Sequence[Run]) -> None:
    """End the workers now and take away what they had begun to write."""
    for worker in list((pool._processes or {}).values()):
        worker.terminate()
    pool.shutdown(wait=True, cancel_futures=True)
    for run in runs:
        if run.file is not None:
            run.file.with_name(f".{run.file.name}.part").unlink(missing_ok=True)


def _watch(futures: Sequence[Future[Outcome]], queue: Any, progress: Progress | None) -> None:
    """Pass progress on until all runs are done or one fails."""
    pending = set(futures)
    while pending:
        done, pending = wait(pending, timeout=0.1)
        for item in _drain(queue):
            if progress is not None:
                progress(*item)
        for future in done:
            future.result()


def _drain(queue: Any) -> Iterator[tuple[int, float, str]]:
    while True:
        try:
            yield queue.get_nowait()
        except Empty:
            return


def paired(outcomes: Sequence[Outcome]) -> tuple[Compared, ...]:
    """Put the runs of each wall together, best margin first."""
    names = dict.fromkeys(outcome.run.name for outcome in outcomes)
    found = []
    for name in names:
        mine = {o.run.leaks: o for o in outcomes if o.run.name == name}
        found.append(Compared(name, mine[False], mine.get(True)))
    return tuple(sorted(found, key=lambda item: -item.margin))


def to_dict(compared: Sequence[Compared]) -> list[dict[str, object]]:
    """Plain values of a comparison for JSON, best margin first."""
    return [
        {
            "wall": item.name,
            "passed": item.passed,
            "margin": _plain(item.margin),
            "runs": [_outcome_dict(outcome) for outcome in item.outcomes],
        }
        for item in compared
    ]


def _outcome_dict(outcome: Outcome) -> dict[str, object]:
    hand = outcome.hand
    values = {k: v for k, v in hand.__dict__.items() if k != "rows"}
    return {
        "leaks": outcome.run.leaks,
        "file": None if outcome.run.file is None else outcome.run.file.name,
        "verdict": outcome.verdict.to_dict(),
        "summary": outcome.numbers,
        "hand": {**values, "layers": [row._asdict() for row in hand.rows]},
        "quality": outcome.quality,
        "seconds": round(outcome.seconds, 2),
    }


def _plain(value: float) -> float | None:
    return value if np.isfinite(value) else None


def to_json(compared: Sequence[Compared]) -> str:
    """`to_dict` as JSON text."""
    return json.dumps(to_dict(compared), indent=2, ensure_ascii=False, default=str)
