"""The search for how much more walls bear: winter humidity, rain share, least R outboard.

Owns the three questions and their ranges. A value passes where a comparison of the wall at that
value would be within limits; between the mild end and that value the scenario that decides is tried
alone.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Hashable, Mapping, Sequence
from dataclasses import replace
from typing import Any, NamedTuple

import xarray as xr

from hygro.errors import InputError
from hygro.room.models import Room
from hygro.solve.settings import Settings
from hygro.study.compare import Compared
from hygro.study.edge import POINTS, Found, Search, even, furthest, ratio, ratios
from hygro.study.hand import judged_layer, winter_means
from hygro.study.plan import Repeat, Scenario, scenarios
from hygro.study.rank import ranked
from hygro.study.reserve import Reserve
from hygro.study.runs import Judging
from hygro.study.trials import Trials
from hygro.study.vary import insulation_outboard, outboard_insulation, rain_share, winter_rh
from hygro.wall.resistance import resistance
from hygro.wall.wall import Wall
from weather.moistair import saturation_pressure

RH = (0.20, 0.75)
RAIN = (0.001, 0.10)
R = (0.25, 10.0)
"""Ranges: winter humidity [1], rain share [1], spaced by equal ratios, resistance [m²·K/W], too."""


def reserve(
    wall: Wall,
    climate: xr.Dataset,
    room: Room,
    *,
    settings: Settings | None = None,
    judging: Judging | None = None,
    repeat: Repeat = "as needed",
    first: Scenario | None = None,
) -> Reserve:
    """Search how much a wall bears, `POINTS` values a round.

    Each number is varied by itself. The humidity goes up from 20 %, the rain share from 0.1 %, the
    resistance down from 10 m²·K/W, and the search stops at the first value that fails.

    Parameters
    ----------
    wall, climate, room
        As in `compare`.
    settings, judging, repeat
        As in `compare`.
    first : str, optional
        Scenario to search in, such as the one that decides; left out: the wall with all its leaks.
        The others are run at the value found, and where one fails there the search goes on in it.
    """
    trials = Trials(climate, settings=settings, judging=judging, repeat=repeat)
    (found,) = _reserves(trials, [_Item(wall, room, climate, first)], QUESTIONS, lambda _: None)
    return found


Key = tuple[int, str]
"""A wall by its place, and a question."""


class _Item(NamedTuple):
    """A wall that is asked."""

    wall: Wall
    room: Room
    climate: xr.Dataset
    first: Scenario | None

    @property
    def begins(self) -> Scenario:
        """The scenario to search in."""
        return self.first or list(scenarios(self.wall))[-1]


class _Question(NamedTuple):
    """A search, and how what it finds is told."""

    search: Search
    present: float
    reached: Callable[[float], float] = float


def with_reserves(
    compared: Sequence[Compared],
    given: Mapping[str, tuple[Wall, Room]],
    climate: xr.Dataset,
    *,
    whole: bool = True,
    progress: Callable[[int], None] | None = None,
    **more: Any,
) -> tuple[Compared, ...]:
    """Return compared walls with their reserves, ranked by them.

    Parameters
    ----------
    compared : sequence of Compared
        What was compared.
    given : mapping
        Wall and room by name.
    climate : Dataset
        Of all of them.
    whole : bool
        All three numbers of every wall; else no more than the ranking needs: winter humidity where
        walls share a class, and the rain share where they bear the same humidity too.
    progress : callable, optional
        Called with the number of each wall that has been asked all there is.
    more
        `settings`, `judging` and `repeat` of `reserve`.
    """
    trials = Trials(climate, **more)

    def asked(chosen: Sequence[Compared], questions: Sequence[str]) -> list[Compared]:
        items = [_Item(*given[item.name], climate, item.deciding.run.scenario) for item in chosen]
        found = _reserves(trials, items, questions, lambda k: tell(chosen[k]))
        return [
            replace(item, reserve=new if item.reserve is None else item.reserve.beside(new))
            for item, new in zip(chosen, found, strict=True)
        ]

    numbers = {item.name: number for number, item in enumerate(compared)}

    def tell(item: Compared) -> None:
        if progress is not None:
            progress(numbers[item.name])

    known = {item.name: item for item in compared}
    if whole:
        known |= {item.name: item for item in asked(compared, QUESTIONS)}
    else:
        for question, alike in (("winter_rh", _class), ("rain", _class_and_humidity)):
            chosen = _shared(list(known.values()), alike)
            known |= {item.name: item for item in asked(chosen, (question,))}
    for item in compared:
        tell(item)
    return ranked(tuple(known.values()))


def _class(item: Compared) -> Hashable:
    # what could not be judged passes at no value
    return item.name if item.outcome == "not judged" else item.outcome


def _class_and_humidity(item: Compared) -> Hashable:
    return item.name if item.reserve is None else (item.outcome, item.reserve.order[0])


def _shared(compared: Sequence[Compared], alike: Callable[[Compared], Hashable]) -> list[Compared]:
    """Walls that are not alone in what they are alike in."""
    counts = Counter(map(alike, compared))
    return [item for item in compared if counts[alike(item)] > 1]


def _reserves(
    trials: Trials,
    items: Sequence[_Item],
    questions: Sequence[str],
    ended: Callable[[int], None],
) -> list[Reserve]:
    """Search in all walls at once, so that their runs go side by side."""
    posed = {
        (k, name): question
        for k, item in enumerate(items)
        for name in questions
        if (question := _POSED[name](item)) is not None
    }
    left = Counter(k for k, _ in posed)

    def told(key: tuple[int, str]) -> None:
        left[key[0]] -= 1
        if not left[key[0]]:
            ended(key[0])

    found = _searched(trials, {key: question.search for key, question in posed.items()}, told)
    bounds = {
        key: found[key].told(question.present, question.reached) for key, question in posed.items()
    }
    return [
        Reserve(**{name: bounds.get((k, name)) for name in QUESTIONS}, asked=tuple(questions))
        for k in range(len(items))
    ]


def _searched(
    trials: Trials, searches: dict[Key, Search], ended: Callable[[Key], None]
) -> dict[Key, Found]:
    """Answer what searches ask for, that of all of them at a time, until all have found."""
    found: dict[Key, Found] = {}
    asked = {key: next(search) for key, search in searches.items()}
    while asked:
        answers = trials.of(list(asked.values()))
        told, asked = dict(zip(asked, answers, strict=True)), {}
        for key, answer in told.items():
            try:
                asked[key] = searches[key].send(answer)
            except StopIteration as end:
                found[key] = end.value
                ended(key)
    return found


def _winter_rh(item: _Item) -> _Question | None:
    variant = winter_rh(item.wall, item.room, item.climate)
    try:
        variant(RH[0])
    except InputError:
        return None

    def reached(x: float) -> float:
        """The mean that the room then has: single hours are held at 95 %."""
        return _rh(item.climate, variant(x)[1])

    values = [RH[0] + (RH[1] - RH[0]) * i / (POINTS - 1) for i in range(POINTS)]
    search = furthest(variant, values, even, item.begins)
    return _Question(search, _rh(item.climate, item.room), reached)


def _rh(climate: xr.Dataset, room: Room) -> float:
    _, T, p = winter_means(climate, room)
    return p / float(saturation_pressure(T))


def _rain(item: _Item) -> _Question | None:
    leaks = item.wall.leaks.rain
    if not any(leak.fraction for leak in leaks) or item.wall.outside.rain_method is None:
        return None
    search = furthest(rain_share(item.wall, item.room), ratios(*RAIN), ratio, item.begins)
    return _Question(search, max(leak.fraction for leak in leaks))


def _outboard(item: _Item) -> _Question | None:
    sheathing = judged_layer(item.wall)
    layers = insulation_outboard(item.wall, sheathing)
    if not layers:
        return None
    variant = outboard_insulation(item.wall, item.room, sheathing)
    search = furthest(variant, ratios(*R)[::-1], ratio, item.begins)
    return _Question(search, sum(resistance(layer) for layer in layers))


_POSED: Mapping[str, Callable[[_Item], _Question | None]] = {
    "winter_rh": _winter_rh,
    "rain": _rain,
    "outboard": _outboard,
}
QUESTIONS = tuple(_POSED)
"""The numbers that are searched."""
