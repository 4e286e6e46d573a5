"""Frost in wet absorbent layers."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from hygro.assess.criteria.criterion import Criterion, Finding
from hygro.assess.criteria.rated import Rated
from hygro.assess.frost import FreezeThaw, freeze_thaw, stated_saturation
from hygro.assess.select import array, flags

LEVELS = (0.25, 0.50, 0.90)
"""Shares of free saturation from which freezes are counted (our choice). [1]"""


def _cycles(rated: Rated, row: Criterion) -> Iterator[Finding]:
    ds = rated.hourly
    absorbent, wood = flags(ds, "layer_absorbent"), flags(ds, "layer_wood_based")
    porous = array(ds, "layer_w_free") > 0.0
    outward = np.arange(len(rated.layers)) <= rated.sheathing.index
    for index in np.flatnonzero((absorbent == 1) & (wood == 0) & porous & outward):
        name = rated.layers[index]
        critical = stated_saturation(ds, name)
        if critical is None:
            told = f"the material states no critical saturation: {_told(rated, int(index))}"
            yield row.finding(name, None, note=told)
            continue
        found = freeze_thaw(ds, name, saturation=critical)
        free = float(array(ds, "layer_w_free")[index] / array(ds, "layer_w_max")[index])
        if critical > free and not found.cycles:
            # capillary water stops at free saturation: no run could show a freeze beyond it
            told = (
                f"the critical saturation {100 * critical:.0f} % of the pores lies above free "
                f"saturation {100 * free:.0f} %, and the slow filling of air pores beyond it is "
                f"not computed: {_told(rated, int(index))}"
            )
            yield row.finding(name, None, note=told)
        else:
            yield row.finding(name, found.cycles, note=_reason(found, critical))


def _reason(found: FreezeThaw, critical: float) -> str:
    """What the count stands on where the material states its critical saturation."""
    return (
        f"critical saturation {100 * critical:.0f} % of the pores, as the material states; "
        f"{found.all_cycles} freezes of the worst cell in all, {1000 * found.depth:.0f} mm deep; "
        f"highest saturation while frozen {100 * found.highest_saturation:.0f} %"
    )


def _told(rated: Rated, index: int) -> str:
    """Count freezes by how full the pores were, of free saturation."""
    free = float(array(rated.hourly, "layer_w_free")[index])
    full = float(array(rated.hourly, "layer_w_max")[index])
    found = [
        freeze_thaw(rated.hourly, rated.layers[index], saturation=level * free / full)
        for level in LEVELS
    ]
    highest = 100.0 * found[0].highest_saturation * full / free
    pairs = zip(found, LEVELS, strict=True)
    counts = ", ".join(f"{item.cycles} above {100 * level:.0f} %" for item, level in pairs)
    return f"freezes by share of free saturation {counts}; highest while frozen {highest:.0f} %"


FROST = Criterion(
    key="frost",
    quantity="freezes above the critical saturation",
    limit=0.0,
    hard=False,
    source="after Fagerlund: frost harms above a critical saturation of the pores, which is a "
    "property of the material and must be measured",
    origin="from memory",
    note="judged where the material states its s_crit and water can reach it; else counted and "
    "never passed; soft, because a typical value is not that of the product",
    judge=_cycles,
)
