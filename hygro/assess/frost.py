"""Freeze-thaw cycles of wet material.

Owns the counting rule: a cycle is a pass from thawed to frozen while the pores are filled beyond
the critical saturation of the material (after Fagerlund, from memory), which it must state.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from hygro.assess.hourly import Hourly, Record, hourly, kept
from hygro.assess.places import Part, layer_index, part_name, part_weights
from hygro.assess.select import array, holds
from hygro.constants import ZERO_CELSIUS
from hygro.errors import InputError

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
    index = layer_index(ds, layer)
    weights = part_weights(ds, index, part)
    inside = weights > 0.0
    share, entered, frozen = _frozen(ds, layer, part, freeze, thaw)
    wet = (entered & (share >= saturation)).sum(axis=0)
    worst = int(np.lexsort((entered.sum(axis=0), wet))[-1])
    return FreezeThaw(
        part_name(layer, part),
        int(wet[worst]),
        int(entered[:, worst].sum()),
        float(array(ds, "cell_depth")[inside][worst]),
        frozen,
        float((_ice(ds, inside) @ weights[inside]).max()) if holds(ds, "ice_content") else 0.0,
    )


def stated_saturation(ds: Record, layer: str) -> float | None:
    """Critical saturation of a layer, share of the pores; None where its material states none."""
    of = hourly(ds)
    if not holds(of, "layer_s_crit"):
        return None
    found = float(np.asarray(of.source["layer_s_crit"])[layer_index(of, layer)])
    return found if np.isfinite(found) else None


@kept
def _frozen(
    ds: Hourly, layer: str, part: Part | None, freeze: float, thaw: float
) -> tuple[np.ndarray, np.ndarray, float]:
    """Filled share of the pores, instants of passing into frost, highest share while frozen.

    Of the cells of a layer or its part, dims (time, cell).
    """
    index = layer_index(ds, layer)
    inside = part_weights(ds, index, part) > 0.0
    full = float(array(ds, "layer_w_max")[index])
    if not full > 0.0:
        raise InputError(f"layer '{layer}': w_max = {full} kg/m³, a layer without pores")
    share = array(ds, "water_content")[:, inside] / full
    ice = _ice(ds, inside) if holds(ds, "ice_content") else None
    entered, frozen = _passes(array(ds, "temperature")[:, inside], ice, freeze, thaw)
    return share, entered, float(share[frozen].max()) if frozen.any() else 0.0


def _ice(ds: Record, inside: np.ndarray) -> np.ndarray:
    return array(ds, "ice_content")[:, inside]


def _passes(
    temperature: np.ndarray, ice: np.ndarray | None, freeze: float, thaw: float
) -> tuple[np.ndarray, np.ndarray]:
    """Instants of passing into frost, and the frozen instants, dims (time, cell)."""
    freezing = temperature <= freeze
    if ice is not None:
        freezing &= ice > 0.0
    decided = freezing | (temperature > thaw)
    decided[0] = True  # a cell starts frozen only if it is at or below the freezing limit
    # twice the row, and one more where it freezes: the largest so far is that of the last decision
    marks = 2 * np.arange(len(temperature))[:, None] + freezing
    frozen = np.maximum.accumulate(np.where(decided, marks, 0), axis=0) % 2 == 1
    entered = np.zeros_like(frozen)
    entered[1:] = frozen[1:] & ~frozen[:-1]
    return entered, frozen
