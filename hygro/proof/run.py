"""Every check by name: the list of cases, and their runs in several processes.

Owns the list and the order; what a case does is in its module. A case that ends with an error is a
failed case, not a missing one.
"""

from __future__ import annotations

import importlib
import os
import time
from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial

from hygro.errors import HygroError, InputError, near_matches
from hygro.proof.check import Check, Outcome, Picture, broken
from hygro.study.ahead import compile_first
from hygro.study.processes import TaskProgress, in_processes
from hygro.types import Data


@dataclass(frozen=True)
class Exercise:
    """One name of the command.

    Attributes
    ----------
    name, title : str
        As typed, and in words.
    parts : tuple of str
        "module:function" in this package; each returns an `Outcome`.
    seconds : float
        About how long it takes; the long ones start first. [s]
    """

    name: str
    title: str
    parts: tuple[str, ...]
    seconds: float


CASES: tuple[Exercise, ...] = (
    Exercise("en15026_step", "EN 15026 step", ("step:step", "step:step_sundials"), 12.0),
    Exercise("hamstad_1", "insulated roof", ("hamstad:roof",), 4.0),
    Exercise("hamstad_2", "isothermal drying", ("drying:drying",), 2.0),
    Exercise("hamstad_3", "air flow", ("hamstad:air_flow",), 2.0),
    Exercise("hamstad_4", "rain and sun", ("hamstad:rain_and_sun",), 2.0),
    Exercise("hamstad_5", "inside insulation", ("hamstad:inside_insulation",), 2.0),
    Exercise("heat_step_surface_coefficient", "temperature step", ("heat:step",), 1.0),
    Exercise("periodic_transmission", "periodic walls", ("heat:periodic",), 4.0),
    Exercise("two_layer_radiation", "radiating surface", ("heat:radiation",), 1.0),
    Exercise(
        "constant_diffusivity_uptake", "uptake, constant D", ("moisture:constant_uptake",), 1.0
    ),
    Exercise("exponential_diffusivity_uptake", "uptake, exponential D",
         ("moisture:exponential_uptake",), 1.0),
    Exercise("cup_tests", "dry and wet cup", ("moisture:cups",), 1.0),
    Exercise("moisture_buffer", "moisture buffering", ("moisture:buffering",), 1.0),
    Exercise("stefan_one_phase", "freezing front, one phase", ("freezing:one_phase",), 1.0),
    Exercise("stefan_two_phase", "freezing front, two phases", ("freezing:two_phase",), 1.0),
    Exercise("manufactured", "orders in space and time",
         ("orders:manufactured", "orders:time_order"), 30.0),
    Exercise("moist_air", "moist air", ("outdoors:moist_air",), 3.0),
    Exercise("wood_sorption", "wood sorption", ("surroundings:wood_sorption",), 0.5),
    Exercise("sun_on_plane", "sun on planes", ("outdoors:sun",), 2.0),
    Exercise("driving_rain", "driving rain", ("outdoors:rain",), 0.5),
    Exercise("indoor_climate", "indoor climates", ("surroundings:indoor",), 0.5),
    Exercise("monthly_method", "monthly hand method", ("monthly:by_hand", "monthly:dynamic"), 3.0),
    Exercise("mould_index", "mould index", ("ratings:mould",), 3.0),
    Exercise("decay", "wood decay", ("ratings:decay",), 0.5),
    Exercise("code_tables", "code tables beside the engine", ("codes:zones",), 45.0),
    Exercise("field_trends", "trends of field studies", ("field_trends:trends",), 10.0),
    Exercise("sundials_twins", "SUNDIALS twins", ("twins:twins",), 15.0),
)  # fmt: skip


@dataclass(frozen=True)
class Result:
    """What one case left, and how long it took. [s]"""

    case: Exercise
    checks: tuple[Check, ...]
    pictures: tuple[Picture, ...]
    seconds: float


def chosen(names: Sequence[str]) -> tuple[Exercise, ...]:
    """Cases by name, all where none is named; raises `InputError` with near matches."""
    known = {case.name: case for case in CASES}
    for name in names:
        if name not in known:
            raise InputError(f"{name}: no such case; {near_matches(name, known)}")
    return tuple(case for case in CASES if not names or case.name in names)


def run_case(case: Exercise) -> Result:
    """Run one case; an error of the engine or a missing reference becomes a failed check."""
    began = time.perf_counter()
    checks: list[Check] = []
    pictures: list[Picture] = []
    for part in case.parts:
        module, function = part.split(":")
        try:
            found: Outcome = getattr(importlib.import_module(f"hygro.proof.{module}"), function)()
        except HygroError as error:
            checks.append(broken(case.name, f"{function}: {error}"))
            continue
        checks += found.checks
        pictures += found.pictures
    return Result(case, tuple(checks), tuple(pictures), time.perf_counter() - began)


def perform(
    cases: Sequence[Exercise],
    *,
    processes: int | None = None,
    progress: TaskProgress | None = None,
) -> tuple[Result, ...]:
    """Run cases, in processes where there are several, and return results in their order.

    Parameters
    ----------
    cases : sequence of Exercise
        See `chosen`.
    processes : int, optional
        1 runs in this process. None: one for each core, but not more than cases.
    progress : callable, optional
        Called with the number of the case, 1.0 when it is done, and its name.
    """
    count = min(processes or os.cpu_count() or 1, len(cases))
    # long ones first, so that none is left alone at the end
    order = sorted(range(len(cases)), key=lambda k: -cases[k].seconds)
    items = [(k, cases[k]) for k in order]
    if count < 2:
        found = [_task(None, n, item, progress) for n, item in enumerate(items)]
    else:
        how: Data = {"progress": progress, "count": count, "first": partial(compile_first, [1])}
        found = list(in_processes(_task, None, items, **how))
    by_place = {items[n][0]: result for n, result in enumerate(found)}
    return tuple(by_place[k] for k in range(len(cases)))


def together(tell: TaskProgress, total: int) -> TaskProgress:
    """TaskProgress of many short tasks as that of one: how many are done, and what was last."""
    done: set[int] = set()

    def one(number: int, fraction: float, word: str) -> None:
        if fraction >= 1.0:
            done.add(number)
        tell(0, len(done) / total, word)

    return one


def _task(_: None, __: int, item: tuple[int, Exercise], progress: TaskProgress | None) -> Result:
    place, case = item
    if progress is not None:
        progress(place, 0.0, case.title)
    result = run_case(case)
    if progress is not None:
        progress(place, 1.0, case.title)
    return result
