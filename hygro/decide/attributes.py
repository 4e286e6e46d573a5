"""What the variables of an exported study say of themselves, as the CF conventions ask.

Owns their words and how units are written for UDUNITS.
"""

from __future__ import annotations

import numpy as np

from hygro.assess.criteria import Criterion, Judged
from hygro.assess.criteria.sets import rule_set
from hygro.decide.dimension import Dimension, full_unit
from hygro.decide.slots import FACTOR
from hygro.decide.trade import TRADE
from hygro.quantities import QUANTITIES
from hygro.types import Data

CONVENTIONS = "CF-1.8"
PASSED: Data = {
    "long_name": "whether all hard criteria hold",
    "flag_values": np.array([-1, 0, 1], dtype=np.int8),
    "flag_meanings": "not_judged fails passes",
}
MARGIN = {"long_name": "least margin of the hard criteria, as a share of the limit", "units": "1"}
SCENARIO = {"long_name": "leaks that are on"}
TEXTS = {
    "state": "whether the run was done",
    "outcome": "class of the verdict",
    "decides": "place and criterion that decide",
    "reason": "why they decide",
    "error": "why the run could not be done",
}
HASHES = {
    "wall_sha256": "SHA-256 of the wall",
    "loads_sha256": "SHA-256 of the hourly loads",
    "fields": "digest of the hourly fields",
}
RUN_HASH = {"long_name": "SHA-256 of all that the run depends on"}
_ANOTHER = {"deg": "degree", "m sd": "m"}
_FOREIGN = frozenset(
    ("R", "RSI", "perm", "perm.in", "cfm/ft2", "ACH", "/h", "oz/ft2", "L/day", "inwg", "mph",
     "kWh/(m2.day)")
)  # fmt: skip
"""Units of a case that UDUNITS does not know, or takes for something else."""


def of_dimension(d: Dimension) -> Data:
    """Attributes of what varies; units where its values are numbers."""
    found = {"long_name": d.says}
    words = any(isinstance(value, str) for value in d.values)
    unit = None if words else _unit(d)
    return found if unit is None else {**found, "units": unit}


def _unit(d: Dimension) -> str | None:
    """Unit of the values of a dimension; None where nobody says which."""
    known = full_unit(d.unit, d.quantity)
    if known:
        return udunits(known)
    pure = d.name in TRADE or d.name.startswith(f"{FACTOR}.")
    return "1" if pure else None


def udunits(unit: str) -> str:
    """Write a unit of a case as UDUNITS reads it: one that is foreign to it as a multiple of SI."""
    if unit not in _FOREIGN:
        return _ANOTHER.get(unit, unit)
    quantity = next(q for q in QUANTITIES.values() if unit in q.factors)
    factor = quantity.factors[unit]
    return quantity.si if factor == 1.0 else f"{factor:.10g} {quantity.si}"


def of_criterion(key: str, criteria: tuple[Judged, ...] | str) -> Data:
    """Attributes of what a criterion found at its worst."""
    rows = rule_set(criteria).criteria if isinstance(criteria, str) else criteria
    for row in rows:
        if isinstance(row, Criterion) and row.key == key:
            return {"long_name": f"{row.quantity}, where it is worst", "units": row.unit}
    return {"long_name": f"what '{key}' found where it is worst"}  # of a user's function
