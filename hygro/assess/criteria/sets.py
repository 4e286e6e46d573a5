"""Rule sets by name: which criteria judge a run, and what else the rules ask for.

A set is a choice of criteria with their weights; it does not make a run a proof of compliance.
"""

from __future__ import annotations

from dataclasses import replace
from types import MappingProxyType
from typing import NamedTuple

from hygro.assess.criteria import CRITERIA, Criterion
from hygro.assess.criteria.accumulation import ACCUMULATION
from hygro.assess.criteria.condensation import CONDENSATE
from hygro.assess.criteria.corrosion import CORROSION
from hygro.assess.criteria.din4108 import WOOD_CONTENT
from hygro.assess.criteria.iso13788 import MONTHLY_CONDENSATE, MONTHLY_LEFT, SURFACE_FACTOR
from hygro.assess.criteria.leaks import RAIN_TRIED
from hygro.assess.criteria.mould import MOULD_160
from hygro.errors import InputError, near_matches


class RuleSet(NamedTuple):
    """Criteria by the name of their rules.

    `note` says what the rules ask for beside them, which a record cannot show.
    """

    name: str
    criteria: tuple[Criterion, ...]
    note: str


DEFAULT = RuleSet("default", CRITERIA, "our choice of criteria, see docs/verdict.md")
ASHRAE_160 = RuleSet(
    "ashrae-160",
    (replace(MOULD_160, hard=True), CORROSION, RAIN_TRIED),
    "ANSI/ASHRAE 160 also asks for its design weather (ten years, or the 10 % year), its indoor "
    "design humidity and 1 % of the rain leaked to the water barrier: those are inputs of the run",
)
EN_15026 = RuleSet(
    "en-15026",
    (ACCUMULATION, WOOD_CONTENT, CONDENSATE, RAIN_TRIED),
    "EN 15026 gives the method, limits are those of DIN 4108-3 and DIN 68800-2; its weather is "
    "that of a year met once in ten, an input of the run",
)
ISO_13788 = RuleSet(
    "iso-13788",
    (SURFACE_FACTOR, MONTHLY_CONDENSATE, MONTHLY_LEFT),
    "steady months of vapour alone: storage, rain, sun, leaks and hours of the run do not count",
)
RULE_SETS = MappingProxyType({s.name: s for s in (DEFAULT, ASHRAE_160, EN_15026, ISO_13788)})
"""The sets by name."""
SHIPPED = frozenset(row.key for rules in RULE_SETS.values() for row in rules.criteria)
"""Keys of all shipped criteria."""


def rule_set(name: str) -> RuleSet:
    """Return a rule set by name; raises `InputError` with near matches."""
    if name not in RULE_SETS:
        raise InputError(f"rules '{name}': unknown ({near_matches(name, RULE_SETS)})")
    return RULE_SETS[name]
