"""Frost in wet absorbent layers."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from hygro.assess.criteria.criterion import Criterion, Finding
from hygro.assess.criteria.rated import Rated
from hygro.assess.data import array, flags
from hygro.assess.frost import freeze_thaw


def _cycles(rated: Rated, row: Criterion) -> Iterator[Finding]:
    ds = rated.record
    absorbent, wood = flags(ds, "layer_absorbent"), flags(ds, "layer_wood_based")
    porous = array(ds, "layer_w_max") > 0.0
    outward = np.arange(len(rated.layers)) <= rated.sheathing.index
    for index in np.flatnonzero((absorbent == 1) & (wood == 0) & porous & outward):
        found = freeze_thaw(ds, rated.layers[index])
        share = f"{100 * found.highest_saturation:.0f} % of the pores filled"
        note = f"{found.all_cycles} cycles in all, at most {share} in frost"
        yield row.finding(found.place, found.cycles, note=note)


FROST = Criterion(
    key="frost",
    quantity="freeze-thaw cycles while the pores are nearly full",
    limit=0.0,
    hard=False,
    source="after Fagerlund: 80 % of the pores filled; the limit of a product must be measured",
    origin="from memory",
    note="soft: how many cycles a product bears is not known here",
    judge=_cycles,
)
