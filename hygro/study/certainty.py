"""How sure the numbers of a run are numerically: the same run with every cell halved.

Owns the choice of numbers and how much finer; says nothing on inputs, leaks or the model itself.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

from hygro.solve.settings import Settings
from hygro.study.runs import Outcome

TIGHTER = 4.0
"""How many times smaller the error aimed at in a step is in the finer run. [1]"""
NUMBERS = (
    "mc_30d_max",
    "mc_24h_max",
    "mould_index_max",
    "rh_30d_max",
    "condensation_hours",
    "condensate_formed",
    "dew_point_hours",
    "hours_mc_above_20",
)
"""Keys of `hygro.assess.SUMMARY` that are looked at."""


class Change(NamedTuple):
    """One number as it was run and with every cell halved, in the unit of `SUMMARY`."""

    key: str
    as_run: float
    finer: float

    @property
    def change(self) -> float:
        """Finer minus as run."""
        return self.finer - self.as_run

    @property
    def error(self) -> float:
        """Whole error of the run by 2 (N - N/2), as if it halved with the cells."""
        return -2.0 * self.change


@dataclass(frozen=True)
class Certainty:
    """What a finer run changes.

    Attributes
    ----------
    scenario : str
        Which run of the wall.
    settings : Settings
        Of the finer run.
    changes : tuple of Change
        Numbers that both runs have.
    turned : tuple of str
        Criteria, hard or soft, within the limit in one run and beyond it in the other, as "key at
        place".
    margin : float
        Change of the least margin of the hard criteria. [1]
    """

    scenario: str
    settings: Settings
    changes: tuple[Change, ...]
    turned: tuple[str, ...]
    margin: float

    def to_dict(self) -> dict[str, object]:
        """Plain values for JSON."""
        return {
            "accuracy": self.settings.accuracy,
            "tolerance": self.settings.tolerance,
            "numbers": {
                item.key: {
                    "as_run": item.as_run,
                    "finer": item.finer,
                    "change": item.change,
                    "error": item.error,
                }
                for item in self.changes
            },
            "margin_change": self.margin,
            "turned": list(self.turned),
        }


def finer(settings: Settings) -> Settings:
    """Return the settings of the finer run: every cell halved, a quarter of the error in a step."""
    return replace(settings, parts=2 * settings.parts, tolerance=settings.tolerance / TIGHTER)


def certainty(as_run: Outcome, fine: Outcome, settings: Settings) -> Certainty:
    """Compare a run with its finer repetition, whose settings are given."""
    return Certainty(
        scenario=as_run.run.scenario,
        settings=settings,
        changes=tuple(_changes(as_run, fine)),
        turned=tuple(_turned(as_run, fine)),
        margin=fine.margin - as_run.margin,
    )


def certainties(
    as_run: Sequence[Outcome], fine: Sequence[Outcome], settings: Settings
) -> tuple[Certainty, ...]:
    """Compare runs with their finer repetitions, in order."""
    return tuple(certainty(a, b, settings) for a, b in zip(as_run, fine, strict=True))


def _changes(as_run: Outcome, fine: Outcome) -> list[Change]:
    pairs = [(key, as_run.numbers[key], fine.numbers[key]) for key in NUMBERS]
    return [
        Change(key, float(a), float(b))
        for key, a, b in pairs
        if isinstance(a, int | float) and isinstance(b, int | float)
    ]


def _turned(as_run: Outcome, fine: Outcome) -> list[str]:
    other = {(f.criterion.key, f.place): f.passed for f in fine.verdict.findings}
    return [
        f"{f.criterion.key} at {f.place}"
        for f in as_run.verdict.findings
        if other.get((f.criterion.key, f.place)) is not f.passed
    ]
