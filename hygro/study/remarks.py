"""What is unusual about a wall in its climate, told without a run. Owns the rules of thumb.

Each rule names its source, or says that it is common practice; none of them is a verdict.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal, NamedTuple

from hygro.constants import PERM
from hygro.errors import InputError
from hygro.room.models import Room
from hygro.study.hand import HandNumbers
from hygro.study.thickness import much_resistance, usual
from hygro.wall.codes import RetarderClass, permitted, retarder_class
from hygro.wall.elements import Gap, Layer, Membrane
from hygro.wall.wall import Wall

Level = Literal["wrong", "unusual", "note"]
Side = Literal["outside", "inside"]
HUMID, DRY = 0.50, 0.20
"""Winter RH above and below which a room is told of (common practice, no source). [1]"""
COOL, HOT = 278.15, 313.15
"""Indoor temperatures of the coldest months that are told of beyond (common practice, no source).
[K]"""
MUCH_RAIN = 0.1
"""Share of the driving rain from which a leak is told of (our choice; ten times that of ASHRAE 160,
as quoted in papers). [1]"""
TIGHT = 1.0 * PERM
"""Class II limit of the 2021 IRC; what is tighter dries little. [kg/(m²·s·Pa)]"""
SHEET_RH = (0.25, 0.50, 0.75)
"""Humidities at which sheets stand side by side. [1]"""
LITTLE_RAIN = 0.6
"""Share of the rainiest orientation below which a wall counts as sheltered by its side (our
choice). [1]"""


class Remark(NamedTuple):
    """One finding: how grave, where ("" for the case), and what."""

    level: Level
    place: str
    text: str


class Sheet(NamedTuple):
    """A sheet of a wall, its permeance at `SHEET_RH`, and on which side of the sheathing it is."""

    wall: str
    name: str
    made_of: str
    side: Side
    permeance: tuple[float, ...]
    """[kg/(m²·s·Pa)]"""
    retarder: RetarderClass
    """By the lowest of these."""


@dataclass(frozen=True)
class Situation:
    """A wall, its hand numbers, and the climate as far as the rules need it.

    Attributes
    ----------
    zone : str
        Thermal zone with its moisture letter.
    driving_rain : dict or None
        Free driving rain of a year by compass point; None without credible rain. [kg/m²]
    hours : int
        Length of the run. [h]
    """

    wall: Wall
    room: Room
    hand: HandNumbers
    zone: str
    driving_rain: dict[str, float] | None
    hours: int

    @property
    def split(self) -> tuple[tuple[Element, ...], tuple[Element, ...]]:
        """Elements outside and inside of the sheathing."""
        names = [element.name for element in self.wall.layers]
        at = names.index(self.hand.sheathing)
        return self.wall.layers[:at], self.wall.layers[at + 1 :]


Element = Layer | Membrane | Gap


def remarks(case: Situation) -> list[Remark]:
    """Return what is wrong or unusual about a wall, in the order of the rules."""
    rules = (
        _order,
        _thickness,
        _gap,
        _leaks,
        _vapour_control,
        _trapped,
        _inward,
        _room,
        _rain_side,
        _start,
    )
    return [Remark(level, case.wall.name, text) for rule in rules for level, text in rule(case)]


Told = Iterator[tuple[Level, str]]


def _order(case: Situation) -> Told:
    first, last = case.wall.solids[0], case.wall.solids[-1]
    if first.material.group in ("insulation", "finish", "framing"):
        text = (
            f"the outermost layer is '{first.name}' ({first.material.group}): is a cladding "
            "missing?"
        )
        yield "unusual", text
    if last.material.group == "cladding":
        yield "unusual", f"the innermost layer is '{last.name}', a cladding: outside comes first"
    outside, _ = case.split
    if not outside:
        yield "unusual", f"the sheathing '{case.hand.sheathing}' is the outermost element"


def _thickness(case: Situation) -> Told:
    yield from (("unusual", text) for text in map(much_resistance, case.wall.solids) if text)
    for layer in case.wall.solids:
        range_ = usual(layer)
        if range_ is None or layer.thick or range_[0] <= layer.thickness <= range_[1]:
            continue
        low, high = (f"{1000 * bound:g}" for bound in range_)
        text = (
            f"'{layer.name}' is {round(1000 * layer.thickness, 1):g} mm of {layer.material.name}: "
            f"usual are {low} to {high} mm (common practice, no source); is the unit right?"
        )
        yield "unusual", text


def _gap(case: Situation) -> Told:
    outside, _ = case.split
    if outside and not any(isinstance(e, Gap) for e in outside):
        text = (
            f"no air gap outside of '{case.hand.sheathing}': rain that passes the cladding cannot "
            "drain or dry outwards by air"
        )
        yield "unusual", text


def _leaks(case: Situation) -> Told:
    leaks = case.wall.leaks
    if not case.wall.leaky:
        yield "unusual", "no leaks: what happens when rain or indoor air gets in will not show"
        return
    if not leaks.rain and not leaks.wetting:
        yield "unusual", "no rain leak: only air gets in"
    if not leaks.air and case.wall.air_flow is None:
        yield "unusual", "no air leak: only rain gets in"
    if leaks.rain and (case.wall.outside.rain_method is None or case.driving_rain is None):
        yield "unusual", "a rain leak without driving rain brings nothing"
    for leak in leaks.rain:
        if leak.fraction > MUCH_RAIN:
            text = (
                f"a rain leak of {100 * leak.fraction:.3g} % of the driving rain: 1 % is usual "
                f'(ASHRAE 160, as quoted in papers); is it in percent? write "{leak.fraction:g} %"'
            )
            yield "unusual", text
    late = [w for w in leaks.wetting if w.hour >= case.hours]
    if late:
        text = (
            f"the wetting of '{late[0].at}' after {late[0].hour} h comes after the end of the run, "
            f"{case.hours} h"
        )
        yield "wrong", text


def _permeance(element: Element, rh: float) -> float:
    if isinstance(element, Gap):
        return float("inf")
    if isinstance(element, Membrane):
        return float(element.material.permeance.permeance(rh))
    return float(element.material.vapour.permeability(rh)) / element.thickness


def _tightest(elements: tuple[Element, ...], rh: float) -> tuple[Element, float] | None:
    found = [(element, _permeance(element, rh)) for element in elements]
    return min(found, key=lambda item: item[1]) if found else None


def _vapour_control(case: Situation) -> Told:
    _, inside = case.split
    tightest = _tightest(inside, 0.25)
    hand = case.hand
    share = f"{100 * hand.outboard_share:.0f} % of R is outside of '{hand.sheathing}'"
    if tightest is None:
        return  # massive walls often have nothing inside
    element, permeance = tightest
    kind = retarder_class(min(permeance, 1e-6))
    if kind in ("III", "open") and hand.outboard_share < hand.least_share:
        text = (
            f"vapour control inside is class {kind} ('{element.name}', {permeance / PERM:.2g} "
            f"perm), {share}, and {100 * hand.least_share:.0f} % would keep its inner face at the "
            "indoor dew point in the three coldest months"
        )
        yield "unusual", text
    if hand.winter_rh > hand.highest_rh:
        text = (
            f"room air that reaches the inner face of '{hand.sheathing}' condenses in the three "
            f"coldest months (from {100 * hand.highest_rh:.0f} % RH on, the room has "
            f"{100 * hand.winter_rh:.0f} %): safe only while the air barrier is tight"
        )
        yield "unusual", text
    yield from _by_code(case, kind)


def _by_code(case: Situation, kind: RetarderClass) -> Told:
    if kind == "open":
        return
    try:
        rule = permitted(case.zone, kind)
    except InputError:
        return  # the tables at hand say nothing for this zone and class
    if rule.answer == "no":
        text = (
            f"class {kind} inside in zone {case.zone}: not permitted by the 2021 IRC table "
            f"({rule.mark})"
        )
        yield "unusual", text


def _trapped(case: Situation) -> Told:
    outside, inside = case.split
    outer, inner = _tightest(outside, 0.75), _tightest(inside, 0.75)
    if outer and inner and outer[1] < TIGHT and inner[1] < TIGHT:
        pair = " and ".join(f"'{e.name}' ({p / PERM:.2g} perm)" for e, p in (outer, inner))
        yield "unusual", f"'{case.hand.sheathing}' stands between {pair}: it dries to neither side"


def _inward(case: Situation) -> Told:
    _, inside = case.split
    tightest = _tightest(inside, 0.75)
    hot_humid = case.zone[:1] in ("0", "1", "2", "3") and case.zone.endswith("A")
    if hot_humid and tightest and tightest[1] < TIGHT:
        text = (
            f"'{tightest[0].name}' ({tightest[1] / PERM:.2g} perm) inside in zone {case.zone}: "
            "moisture driven inwards in summer collects behind it"
        )
        yield "unusual", text


def _room(case: Situation) -> Told:
    rh, T = case.hand.winter_rh, case.hand.winter_indoor
    if not COOL <= T <= HOT:
        text = (
            f"the room is at {T - 273.15:.0f} °C in the three coldest months: usual are "
            f"{COOL - 273.15:.0f} to {HOT - 273.15:.0f} °C (common practice, no source); "
            "is the unit right (degC, degF, K)?"
        )
        yield "unusual", text
    if rh > HUMID:
        yield "unusual", f"humid room: mean of the three coldest months {100 * rh:.0f} % RH"
    if rh < DRY:
        yield "unusual", f"dry room: mean of the three coldest months {100 * rh:.0f} % RH"


def _rain_side(case: Situation) -> Told:
    rain = case.driving_rain
    if not rain or case.wall.tilt != 90.0:
        return
    worst = max(rain, key=lambda side: rain[side])
    place = round(case.wall.azimuth / 45.0) % 8
    side = list(rain)[place]
    if rain[side] < LITTLE_RAIN * rain[worst]:
        text = (
            f"faces {side} with {rain[side]:.0f} mm of free driving rain a year; {worst} gets "
            f"{rain[worst]:.0f} mm"
        )
        yield "note", text


def _start(case: Situation) -> Told:
    for layer in case.wall.solids:
        content = case.wall.initial_of(layer).content(layer.material)
        if content is not None and layer.material.wood_based and content > 0.19:
            yield "note", f"'{layer.name}' starts wet, {100 * content:.0f} % by mass"


def sheets(case: Situation) -> list[Sheet]:
    """Return the sheets of a wall, outside to inside."""
    outside, inside = case.split
    return [*_sheets(case, outside, "outside"), *_sheets(case, inside, "inside")]


def _sheets(case: Situation, elements: tuple[Element, ...], side: Side) -> Iterator[Sheet]:
    for element in elements:
        if isinstance(element, Membrane):
            values = tuple(_permeance(element, rh) for rh in SHEET_RH)
            made_of, kind = element.material.name, retarder_class(min(values))
            yield Sheet(case.wall.name, element.name, made_of, side, values, kind)
