"""How much more a wall bears: highest winter humidity, highest rain share, least R outboard.

Owns the three questions, their ranges and words; the trials are those of `hygro.study.limit`, so a
value passes where a comparison of the wall at that value would be within limits.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, NamedTuple

import xarray as xr

from hygro.errors import InputError
from hygro.room.models import Room
from hygro.solve.settings import Settings
from hygro.study.compare import Compared
from hygro.study.hand import judged_layer, winter_means
from hygro.study.limit import Judge, Trial, judged
from hygro.study.plan import Repeat, Scenario
from hygro.study.rank import ranked
from hygro.study.runs import Judging
from hygro.study.vary import (
    Variant,
    insulation_outboard,
    outboard_insulation,
    rain_share,
    winter_rh,
)
from hygro.wall.resistance import resistance
from hygro.wall.wall import Wall
from weather.moistair import saturation_pressure

POINTS = 8
"""Values a round, as many as run side by side; two rounds."""
RH = (0.20, 0.75)
RAIN = (0.001, 0.10)
R = (0.25, 10.0)
"""Ranges: winter humidity [1], rain share [1], spaced by equal ratios, resistance [m²·K/W], too."""


class Bound(NamedTuple):
    """How far one number may go.

    Attributes
    ----------
    present : float
        What the wall or its room has.
    value : float or None
        Furthest value tried within limits, with all between it and the mild end of the range;
        None where the mild end itself is not.
    beyond : float or None
        First value tried that is not; None where all are.
    blamed : tuple of str
        What fails there: criterion, place and run.
    """

    present: float
    value: float | None
    beyond: float | None
    blamed: tuple[str, ...] = ()


@dataclass(frozen=True)
class Reserve:
    """What a wall bears; None where the question does not arise.

    Attributes
    ----------
    winter_rh : Bound or None
        Highest mean indoor RH of the three coldest months. None where it is never cold. [1]
    rain : Bound or None
        Highest share of the driving rain that leaks. None without a rain leak. [1]
    outboard : Bound or None
        Least resistance of the insulation outward of the sheathing. None without. [m²·K/W]
    """

    winter_rh: Bound | None
    rain: Bound | None
    outboard: Bound | None

    @property
    def order(self) -> tuple[float, float]:
        """For ranking, least first: winter humidity borne in whole per cent, then rain share."""
        return -round(100.0 * _reached(self.winter_rh)), -round(_reached(self.rain), 3)

    @property
    def words(self) -> str:
        """The humidity borne, for beside a verdict; empty where it is never cold."""
        if self.winter_rh is None:
            return ""
        return f"bears {bears(self.winter_rh, per_cent)} RH in winter"

    def to_dict(self) -> dict[str, object]:
        """Plain values for JSON."""
        return {
            name: None if bound is None else bound._asdict() for name, bound in vars(self).items()
        }


def _reached(bound: Bound | None) -> float:
    return 0.0 if bound is None or bound.value is None else bound.value


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
        Scenario to run first, such as the one that decides: what fails it is tried no further.
    """
    more = {"settings": settings, "judging": judging, "repeat": repeat, "first": first}

    def judge(variant: Variant) -> Judge:
        return judged(variant, climate, **more)  # type: ignore[arg-type]

    return Reserve(
        _winter_rh(wall, climate, room, judge),
        _rain(wall, room, judge),
        _outboard(wall, room, judge),
    )


Judges = Callable[[Variant], Judge]
"""Trials of a variant."""


def _winter_rh(wall: Wall, climate: xr.Dataset, room: Room, judge: Judges) -> Bound | None:
    variant = winter_rh(wall, room, climate)
    try:
        variant(RH[0])
    except InputError:
        return None

    def reached(x: float) -> float:
        """The mean that the room then has: single hours are held at 95 %."""
        return _rh(climate, variant(x)[1])

    values = [RH[0] + (RH[1] - RH[0]) * i / (POINTS - 1) for i in range(POINTS)]
    found = _furthest(judge(variant), values, _even)
    return found.told(_rh(climate, room), reached)


def _rh(climate: xr.Dataset, room: Room) -> float:
    _, T, p = winter_means(climate, room)
    return p / float(saturation_pressure(T))


def _rain(wall: Wall, room: Room, judge: Judges) -> Bound | None:
    if not any(leak.fraction for leak in wall.leaks.rain) or wall.outside.rain_method is None:
        return None
    present = max(leak.fraction for leak in wall.leaks.rain)
    found = _furthest(judge(rain_share(wall, room)), _ratios(*RAIN), _ratio)
    return found.told(present)


def _outboard(wall: Wall, room: Room, judge: Judges) -> Bound | None:
    sheathing = judged_layer(wall)
    layers = insulation_outboard(wall, sheathing)
    if not layers:
        return None
    values = _ratios(*R)[::-1]
    found = _furthest(judge(outboard_insulation(wall, room, sheathing)), values, _ratio)
    return found.told(sum(resistance(layer) for layer in layers))


def with_reserves(
    compared: Sequence[Compared],
    given: Mapping[str, tuple[Wall, Room]],
    climate: xr.Dataset,
    *,
    progress: Callable[[int], None] | None = None,
    **more: Any,
) -> tuple[Compared, ...]:
    """Return compared walls with their reserves, ranked by them.

    `given` holds wall and room by name, `progress` is called with the number of each wall done,
    `more` are the keywords of `reserve`.
    """
    found = []
    for number, item in enumerate(compared):
        wall, room = given[item.name]
        first = item.deciding.run.scenario
        found.append(replace(item, reserve=reserve(wall, climate, room, first=first, **more)))
        if progress is not None:
            progress(number)
    return ranked(found)


class _Found(NamedTuple):
    """The last value that passes on the way from the mild end, and the first that does not."""

    value: float | None
    beyond: Trial | None

    def told(self, present: float, reached: Callable[[float], float] = float) -> Bound:
        value = None if self.value is None else reached(self.value)
        if self.beyond is None:
            return Bound(present, value, None)
        return Bound(present, value, reached(self.beyond.value), self.beyond.blamed)


def _furthest(
    judge: Judge, values: Sequence[float], between: Callable[[float, float, float], float]
) -> _Found:
    """Try values from the mild end on, then as many between the last good and the first bad one."""
    found = _first_failure(judge(values))
    if found.value is None or found.beyond is None:
        return found
    a, b = found.value, found.beyond.value
    finer = _first_failure(judge([between(a, b, i / POINTS) for i in range(1, POINTS)]))
    return _Found(
        found.value if finer.value is None else finer.value,
        found.beyond if finer.beyond is None else finer.beyond,
    )


def _first_failure(trials: Sequence[Trial]) -> _Found:
    last = None
    for trial in trials:
        if not trial.passed:
            return _Found(last, trial)
        last = trial.value
    return _Found(last, None)


def _even(a: float, b: float, x: float) -> float:
    return a + (b - a) * x


def _ratio(a: float, b: float, x: float) -> float:
    return float(a * (b / a) ** x)


def _ratios(low: float, high: float) -> list[float]:
    return [_ratio(low, high, i / (POINTS - 1)) for i in range(POINTS)]


def bears(bound: Bound | None, shown: Callable[[float], str], *, least: bool = False) -> str:
    """Write a bound: what is borne, "none" where nothing tried is, a dash where nothing was asked.

    `least` for a number that must not fall below the bound.
    """
    if bound is None:
        return "–"
    if bound.value is None:
        return "none"
    more = "" if bound.beyond is not None else ("≤ " if least else "≥ ")
    return more + shown(bound.value)


def per_cent(value: float) -> str:
    """Write a share: whole per cent, two digits below ten."""
    return f"{100 * value:.0f} %" if value >= 0.0995 else f"{100 * value:.2g} %"
