"""Freeze-thaw cycles of wet material.

Owns the counting rule: a cycle is a pass from thawed to frozen while the pores are filled beyond
the critical saturation of the material (after Fagerlund, from memory), which it must state.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from hygro.assess.hourly import Hourly, Record, hourly, kept
from hygro.assess.places import Part, layer_index, part_name, part_weights, span
from hygro.assess.select import array, holds
from hygro.constants import ZERO_CELSIUS
from hygro.errors import InputError
from hygro.solve.kernels.compiler import entry, inlined

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Places = NDArray[np.int64]

FREEZE = ZERO_CELSIUS - 2.0
"""Temperature at which pore water counts as frozen; -2 °C: common practice, no source. [K]"""
THAW = ZERO_CELSIUS
"""Temperature above which it counts as thawed. [K]"""


@dataclass(frozen=True)
class FreezeThaw:
    """Freeze-thaw cycles of a layer or its part.

    Attributes
    ----------
    cycles : int
        Passes into frost while filled beyond `saturation`, of the worst cell.
    all_cycles : int
        Passes into frost of that cell, wet or dry.
    depth : float
        Depth of the worst cell from the outdoor surface. [m]
    highest_saturation : float
        Highest filled share of the pores while frozen, of all cells rated. [1]
    ice : float
        Most ice at one time in the part rated; 0 where the run has no ice. [kg/m²]
    """

    place: str
    cycles: int
    all_cycles: int
    depth: float
    highest_saturation: float
    ice: float


def freeze_thaw(
    ds: Record,
    layer: str,
    part: Part | None = None,
    *,
    saturation: float | None = None,
    freeze: float = FREEZE,
    thaw: float = THAW,
) -> FreezeThaw:
    """Count freeze-thaw cycles in every cell of a layer and report the worst cell.

    A cell freezes when it reaches `freeze` (and holds ice, where the run knows ice) and thaws when
    it passes `thaw`; between the two nothing changes, so a flutter around one limit is one cycle.

    Parameters
    ----------
    ds, layer, part
        Result, layer and part as in `moisture_content`.
    saturation : float, optional
        Filled share of the pores, w / w_max, from which a pass counts. [1] Left out: the critical
        saturation that the material of the layer states.
    freeze, thaw : float
        [K]

    Raises
    ------
    InputError
        For limits out of order, a layer without pores, or no saturation given nor stated.
    """
    if saturation is None:
        saturation = stated_saturation(ds, layer)
    if saturation is None:
        raise InputError(
            f"freeze-thaw: '{layer}': its material states no critical saturation (s_crit), and "
            "none is given"
        )
    if not (0.0 < saturation <= 1.0 and freeze <= thaw):
        raise InputError(
            f"freeze-thaw: saturation = {saturation} must be 0-1 and freeze = {freeze} K at most "
            f"thaw = {thaw} K"
        )
    found = _frozen(ds, layer, part, freeze, thaw)
    count = found.cells.stop - found.cells.start
    dry_or_wet = np.bincount(found.cell, minlength=count)
    wet = np.bincount(found.cell[found.share >= saturation], minlength=count)
    worst = int(np.lexsort((dry_or_wet, wet))[-1])
    return FreezeThaw(
        part_name(layer, part),
        int(wet[worst]),
        int(dry_or_wet[worst]),
        float(array(ds, "cell_depth")[found.cells][worst]),
        found.highest,
        found.ice,
    )


def stated_saturation(ds: Record, layer: str) -> float | None:
    """Critical saturation of a layer, share of the pores; None where its material states none."""
    of = hourly(ds)
    if not holds(of, "layer_s_crit"):
        return None
    found = float(np.asarray(of.source["layer_s_crit"])[layer_index(of, layer)])
    return found if np.isfinite(found) else None


class _Frozen(NamedTuple):
    """Passes into frost of the cells of a layer or its part, in their order.

    `cell` [place among `cells`] and `share` of the pores filled then [1] of each pass; `highest`
    share while frozen; `ice` as in `FreezeThaw`.
    """

    cells: slice
    cell: np.ndarray
    share: np.ndarray
    highest: float
    ice: float


@kept
def _frozen(ds: Hourly, layer: str, part: Part | None, freeze: float, thaw: float) -> _Frozen:
    index = layer_index(ds, layer)
    weights = part_weights(ds, index, part)
    cells = span(weights > 0.0)
    full = float(array(ds, "layer_w_max")[index])
    if not full > 0.0:
        raise InputError(f"layer '{layer}': w_max = {full} kg/m³, a layer without pores")
    temperature, water = array(ds, "temperature")[:, cells], array(ds, "water_content")[:, cells]
    knows_ice = holds(ds, "ice_content")
    ice = array(ds, "ice_content")[:, cells] if knows_ice else water
    cell, share = np.empty(water.size, dtype=np.int64), np.empty(water.size)
    frozen = np.zeros(water.shape[1], dtype=np.bool_)
    count, highest = _passes(
        temperature, ice, knows_ice, water, full, freeze, thaw, frozen, cell, share
    )
    most = float((ice @ weights[cells]).max()) if knows_ice else 0.0
    return _Frozen(cells, cell[:count], share[:count], highest, most)


@entry
def _passes(
    temperature: Array,
    ice: Array,
    knows_ice: bool,
    water: Array,
    full: float,
    freeze: float,
    thaw: float,
    frozen: Flags,
    cell: Places,
    share: Array,
) -> tuple[int, float]:
    """List the passes into frost of cells, dims (time, cell); see `_Frozen`.

    `frozen` takes the state of each cell. Returns how many there are and the highest share of the
    pores filled while frozen, or 0.
    """
    count, highest = 0, 0.0
    for i in range(temperature.shape[0]):
        for k in range(temperature.shape[1]):
            before = frozen[k]
            holds_ice = not knows_ice or ice[i, k] > 0.0
            frozen[k] = _frozen_after(before, temperature[i, k], holds_ice, freeze, thaw)
            if not frozen[k]:
                continue
            filled = water[i, k] / full
            highest = max(highest, filled)
            # a cell that starts frozen has not passed into it
            if not before and i > 0:
                cell[count], share[count] = k, filled
                count += 1
    return count, highest


@inlined
def _frozen_after(
    frozen: bool, temperature: float, holds_ice: bool, freeze: float, thaw: float
) -> bool:
    """Whether a cell is frozen after an hour that ends at a temperature. [K]"""
    if temperature <= freeze and holds_ice:
        return True
    return frozen and not temperature > thaw
