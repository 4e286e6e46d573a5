"""The order of compared walls: class, then reserve, variants of one wall together.

Owns the order alone. Walls that differ only in name, start, azimuth or tilt are variants of one.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import TYPE_CHECKING

from hygro.assess.verdict import OUTCOMES
from hygro.declare import plain
from hygro.types import Data

if TYPE_CHECKING:
    from hygro.study.compare import Compared


def ranked(walls: Sequence[Compared]) -> tuple[Compared, ...]:
    """Return walls best first; a family of variants stands where its best member does.

    Reserve is the winter humidity borne, then the share of rain, where that was searched
    (`hygro.study.reserve`), then the least share of a limit that is left. It counts in whole per
    cent, as it is shown; of equal ones the wall that dries sooner
    goes first, then the order given.
    """
    families: dict[str, list[Compared]] = {}
    for item in walls:
        families.setdefault(_family(item), []).append(item)
    inside = [sorted(family, key=_order) for family in families.values()]
    return tuple(item for family in sorted(inside, key=lambda f: _order(f[0])) for item in family)


def _order(item: Compared) -> tuple[float, ...]:
    reserve = item.margin
    return (
        OUTCOMES.index(item.outcome),
        *((0.0, 0.0) if item.reserve is None else item.reserve.order),
        -round(100.0 * reserve) if abs(reserve) < 1e6 else -reserve,
        item.days_to_dry,
    )


def _family(item: Compared) -> str:
    """The wall with its leaks as text, without what variants differ in."""
    data: Data = plain((item.leaky or item.tight).run.wall)
    for key in ("name", "azimuth", "tilt"):
        data.pop(key)
    for key in ("initial", "note"):
        data.pop(key, None)
    for element in data["layers"]:
        element.pop("initial", None)
    return json.dumps(data, sort_keys=True, default=str)
