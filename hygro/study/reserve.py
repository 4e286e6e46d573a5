"""How much more a wall bears: highest winter humidity, highest rain share, least R outboard.

Owns these values and their words; how they are found stands in `hygro.study.bearing`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import NamedTuple


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
    asked : tuple of str
        Which of them were asked; the others are None.
    """

    winter_rh: Bound | None
    rain: Bound | None
    outboard: Bound | None
    asked: tuple[str, ...] = ("winter_rh", "rain", "outboard")

    @property
    def bounds(self) -> dict[str, Bound | None]:
        """All three by name."""
        return {name: getattr(self, name) for name in ("winter_rh", "rain", "outboard")}

    @property
    def whole(self) -> bool:
        """Whether all three were asked."""
        return set(self.asked) == set(self.bounds)

    def beside(self, other: Reserve) -> Reserve:
        """Return this with what another was asked."""
        more = {name: getattr(other, name) for name in other.asked}
        return replace(self, **more, asked=(*self.asked, *other.asked))

    @property
    def order(self) -> tuple[float, float]:
        """For ranking, least first: winter humidity borne in whole per cent, then rain share."""
        return -round(100.0 * _reached(self.winter_rh)), -round(_reached(self.rain), 3)

    @property
    def words(self) -> str:
        """The humidity borne, for beside a verdict; empty where it is never cold."""
        return _bears_all([self._winter_words])

    def all_words(self, resistance: Callable[[float], str]) -> str:
        """`words`, and of the rain and the insulation outboard what was asked."""
        rain = borne_words(self.rain, per_cent, "of the driving rain leaking in")
        outboard = borne_words(self.outboard, resistance, "outboard", least=True)
        return _bears_all([self._winter_words, rain, outboard])

    @property
    def _winter_words(self) -> str:
        return borne_words(self.winter_rh, per_cent, "RH in winter")

    def to_dict(self) -> dict[str, object]:
        """Plain values for JSON."""
        return {
            name: None if bound is None else bound._asdict() for name, bound in self.bounds.items()
        }


def _reached(bound: Bound | None) -> float:
    return 0.0 if bound is None or bound.value is None else bound.value


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


def borne_words(
    bound: Bound | None, shown: Callable[[float], str], what: str, *, least: bool = False
) -> str:
    """Write a bound in a sentence, with what it is of; empty where nothing was asked."""
    if bound is None:
        return ""
    if bound.value is None and bound.beyond is not None:
        return f"{'more' if least else 'less'} than {shown(bound.beyond)} {what}"
    return f"{bears(bound, shown, least=least)} {what}{' at the least' if least else ''}"


def _bears_all(told: Iterable[str]) -> str:
    found = ", ".join(filter(None, told))
    return f"bears {found}" if found else ""


def per_cent(value: float) -> str:
    """Write a share: whole per cent, two digits below ten."""
    return f"{100 * value:.0f} %" if value >= 0.0995 else f"{100 * value:.2g} %"
