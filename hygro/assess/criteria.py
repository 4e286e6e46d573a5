"""The table of criteria: what is judged, against which limit, from which source.

Owns limits and their origin; the code that computes the values is in `judge`. A hard criterion
decides the verdict; a soft one is shown because somebody will ask for it, and decides nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from hygro.errors import InputError, near_matches

Origin = Literal["published", "from memory", "common practice, no source", "set by the user"]


@dataclass(frozen=True)
class Criterion:
    """One row: a quantity, the limit it must not pass, and where the limit comes from.

    Attributes
    ----------
    key, quantity : str
        Short name and plain words.
    limit : float
        In `unit`. The value must stay below it ("below") or may reach it ("at most").
    sense : str
        "below" or "at most".
    source, origin : str
        Document, and how surely the number is known here.
    hard : bool
        True where failing it fails the wall.
    note : str
        Why it is hard or soft, and what it does not say.
    """

    key: str
    quantity: str
    limit: float
    unit: str
    sense: Literal["below", "at most"]
    source: str
    origin: Origin
    hard: bool
    note: str

    def holds(self, value: float) -> bool:
        """Say whether a value keeps the limit."""
        return value < self.limit if self.sense == "below" else value <= self.limit

    def margin(self, value: float) -> float | None:
        """Distance to the limit as a fraction of the limit, positive where it is kept.

        None where the limit is 0.
        """
        return None if self.limit == 0.0 else (self.limit - value) / self.limit

    def worded(self, value: float) -> str:
        """Write a value of the quantity with its unit; moisture and humidity in per cent."""
        if self.key in _PERCENT:
            return f"{100 * value:.1f} %"
        text = f"{value:.0f}" if abs(value) >= 1000 else f"{value:.3g}"
        return text + _UNITS.get(self.unit, " " + self.unit)


_PERCENT = frozenset({"mc_30d", "mc_24h", "rh_30d", "rh_7d", "rh_24h", "corrosion"})
_UNITS = {"kg m-2": " kg/m²", "h": " h", "d": " d", "1": ""}


CRITERIA: tuple[Criterion, ...] = (
    Criterion(
        "mould_index",
        "mould index",
        3.0,
        "1",
        "below",
        "ANSI/ASHRAE 160-2016 addendum e",
        "from memory",
        True,
        "current criterion of the standard, for every sheltered surface from the sheathing inward; "
        "soft on what stands outside the sheathing, which rain and outdoor air wet anyway",
    ),
    Criterion(
        "mc_30d",
        "30-day mean moisture content by mass",
        0.20,
        "1",
        "at most",
        "trade practice for wood-based sheathing; most moulds need more than 20 %",
        "common practice, no source",
        True,
        "hard for wood-based layers from the sheathing inward; no temperature gate, so a cold wet "
        "winter fails it too",
    ),
    Criterion(
        "mc_24h",
        "24-h mean moisture content by mass",
        0.28,
        "1",
        "below",
        "fibre saturation is 28-30 %; decay does not begin below about 29 % (wood literature)",
        "common practice, no source",
        True,
        "hard for wood-based layers from the sheathing inward, at any temperature",
    ),
    Criterion(
        "decay",
        "activation of brown rot",
        1.0,
        "1",
        "below",
        "Viitanen et al. 2010, Eur. J. Wood Prod. 68, 303-313, fitted to pine sapwood specimens; "
        "wood literature: decay is not initiated below about 29 % by mass",
        "from memory",
        False,
        "soft: fitted to pine sapwood, used here for all wood-based layers; it may reach 1, where "
        "decay begins, below the 29 % under which none is seen: the hard limit is that of mc_24h",
    ),
    Criterion(
        "accumulation",
        "increase of water in the last year",
        0.05,
        "kg m-2",
        "at most",
        "a wall must reach a yearly equilibrium (EN 15026, ISO 13788); the tolerance for the "
        "difference between weather years is ours",
        "common practice, no source",
        True,
        "means of the last 30 days of the last two years, behind the cladding gap; the limit "
        "is 1 % of the water there where that is more; needs two years",
    ),
    Criterion(
        "condensate",
        "water beyond sorption",
        0.5,
        "kg m-2",
        "at most",
        "DIN 4108-3 and ISO 13788 practice: 0.5 at a face that takes up no liquid",
        "from memory",
        True,
        "hard for a sheathing that is not wood-based; 1.0 where the sheathing takes up liquid",
    ),
    Criterion(
        "rh_30d",
        "30-day mean relative humidity (30-day mean temperature 5-40 °C)",
        0.80,
        "1",
        "below",
        "ANSI/ASHRAE 160-2009",
        "published",
        False,
        "superseded by the mould index because walls known to work failed it; still asked for",
    ),
    Criterion(
        "rh_7d",
        "7-day mean relative humidity (mean temperature 5-40 °C)",
        0.98,
        "1",
        "below",
        "ANSI/ASHRAE 160-2009",
        "from memory",
        False,
        "superseded together with the 30-day rule",
    ),
    Criterion(
        "rh_24h",
        "24-h mean relative humidity (mean temperature 5-40 °C)",
        1.0,
        "1",
        "below",
        "ANSI/ASHRAE 160-2009",
        "from memory",
        False,
        "superseded together with the 30-day rule",
    ),
    Criterion(
        "corrosion",
        "30-day mean relative humidity at metal",
        0.80,
        "1",
        "below",
        "ANSI/ASHRAE 160",
        "from memory",
        False,
        "soft: whether metal touches this face is not known here; make it hard where it does",
    ),
    Criterion(
        "corrosion_hours",
        "hours a year above 80 % RH and 0 °C at metal",
        2500.0,
        "h",
        "at most",
        "ISO 9223, time of wetness: above 2500 h a year is class τ4 (outdoor air of damp climates)",
        "from memory",
        False,
        "soft: at the faces of the sheathing, where metal may touch it, and at every attachment "
        "that the wall names; what a coating bears is not known here",
    ),
    Criterion(
        "metal_dew_hours",
        "hours with metal at the dew point of the air it meets",
        0.0,
        "h",
        "at most",
        "asked for in practice",
        "common practice, no source",
        False,
        "at the inner end of every attachment that the wall names",
    ),
    Criterion(
        "run_off",
        "water beyond sorption at a face that takes up no liquid",
        0.2,
        "kg m-2",
        "at most",
        "BS 5250: above 200 g/m² on a non-absorbing face condensate may run down",
        "from memory",
        False,
        "soft: says that water may move to where the one-dimensional run does not look",
    ),
    Criterion(
        "drying",
        "days until wood stays below 20 % by mass",
        365.0,
        "d",
        "below",
        "a wall that was closed wet should meet its second winter dry",
        "common practice, no source",
        False,
        "counted from the start of what is judged",
    ),
    Criterion(
        "condensation_hours",
        "hours at the dew point of the air it meets",
        0.0,
        "h",
        "at most",
        "asked for in practice",
        "common practice, no source",
        False,
        "some hours do no harm where the layer can store and dry the water",
    ),
    Criterion(
        "dew_point_hours",
        "hours at or below the indoor dew point",
        0.0,
        "h",
        "at most",
        "asked for in practice",
        "common practice, no source",
        False,
        "what would condense if room air got there: the wall then lives by its air barrier",
    ),
    Criterion(
        "dose",
        "decay dose over the run",
        325.0,
        "d",
        "below",
        "Isaksson, Brischke & Thelandersson 2013; Brischke & Rapp 2010",
        "from memory",
        False,
        "a dose adds up over the service life; the run shows a few years of it",
    ),
    Criterion(
        "frost",
        "freeze-thaw cycles while the pores are nearly full",
        0.0,
        "1",
        "at most",
        "after Fagerlund: 80 % of the pores filled; the limit of a product must be measured",
        "from memory",
        False,
        "soft: how many cycles a product bears is not known here",
    ),
)
"""The criteria of the default verdict."""


def with_changes(
    key: str,
    *,
    limit: float | None = None,
    hard: bool | None = None,
    source: str | None = None,
    criteria: Sequence[Criterion] = CRITERIA,
) -> tuple[Criterion, ...]:
    """Return the criteria with another limit, source or weight for one of them.

    A changed limit without a `source` is marked as set by the user.

    Raises
    ------
    InputError
        For an unknown key.
    """
    known = {row.key: row for row in criteria}
    if key not in known:
        raise InputError(f"criterion '{key}': unknown ({near_matches(key, known)})")
    row = known[key]
    if limit is not None:
        row = replace(row, limit=limit, source="set by the user", origin="set by the user")
    if source is not None:
        row = replace(row, source=source)
    if hard is not None:
        row = replace(row, hard=hard)
    return tuple(row if old.key == key else old for old in criteria)
