"""The criteria: one file a family of ratings, each with its limit, source and judge together.

A hard criterion decides the verdict; a soft one is shown because somebody will ask for it, and
decides nothing. A new one is a `Criterion` in a file of this folder and a line in `CRITERIA`.
"""

from __future__ import annotations

from hygro.assess.criteria.accumulation import ACCUMULATION
from hygro.assess.criteria.condensation import (
    CONDENSATE,
    CONDENSATION_HOURS,
    DEW_POINT_HOURS,
    DRAINED,
    RUN_OFF,
)
from hygro.assess.criteria.corrosion import (
    CORROSION,
    CORROSION_CLASS,
    CORROSION_HOURS,
    METAL_DEW_HOURS,
)
from hygro.assess.criteria.criterion import Criterion, Finding, Judged
from hygro.assess.criteria.decay import DECAY, DOSE
from hygro.assess.criteria.frost import FROST
from hygro.assess.criteria.humidity import RH_7D, RH_24H, RH_30D
from hygro.assess.criteria.leaks import RAIN_TRIED
from hygro.assess.criteria.moisture import DRYING, MC_24H, MC_30D
from hygro.assess.criteria.mould import CLOSING_MOULD, MOULD_160, MOULD_INDEX
from hygro.assess.criteria.rated import Rated

CRITERIA: tuple[Criterion, ...] = (
    MOULD_INDEX,
    MC_30D,
    MC_24H,
    DECAY,
    ACCUMULATION,
    CONDENSATE,
    DRAINED,
    MOULD_160,
    RH_30D,
    RH_7D,
    RH_24H,
    CORROSION,
    CORROSION_HOURS,
    CORROSION_CLASS,
    METAL_DEW_HOURS,
    RUN_OFF,
    DRYING,
    CLOSING_MOULD,
    RAIN_TRIED,
    CONDENSATION_HOURS,
    DEW_POINT_HOURS,
    DOSE,
    FROST,
)
"""The criteria of the default verdict, in the order of its findings."""
_WORDS = {row.key: row.short or row.quantity for row in CRITERIA}


def word_of(key: str) -> str:
    """Return a shipped criterion in words; the key itself of another."""
    return _WORDS.get(key, key)


def in_words(blame: str) -> str:
    """Return "KEY at PLACE", as scripts read it, with the criterion in words."""
    key, at, place = blame.partition(" at ")
    return f"{word_of(key)}{at}{place}"


__all__ = ["CRITERIA", "Criterion", "Finding", "Judged", "Rated", "in_words", "word_of"]
