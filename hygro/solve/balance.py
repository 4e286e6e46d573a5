"""Balances of a run: what crossed each boundary, closure of water and energy, interface fluxes."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from hygro.constants import (
    HEAT_CAPACITY_ICE,
    HEAT_CAPACITY_WATER,
    HEAT_OF_FUSION,
    ZERO_CELSIUS,
)
from hygro.solve.columns import LEDGER, ledger_pairs
from hygro.solve.kernels.compiler import entry

Array = NDArray[np.float64]
REST = 1e-6
"""Throughput of a wall at rest, as a share of its content. [1]"""


class Ledger(NamedTuple):
    """Integrals of each hour: (N,) at the surfaces, (N, gaps), (N, layers). [J/m²], [kg/m²]

    Surface fluxes count into the wall, gap exchange out of it; `drained` leaves. `rain_absorbed`
    and `water_inside` are liquid taken up at the surfaces, `drip_outside` and `drip_inside` what
    over-filled surfaces give off.
    Energy is enthalpy with liquid water at 0 °C as zero.
    """

    energy_outside: Array
    vapour_outside: Array
    rain_absorbed: Array
    energy_inside: Array
    vapour_inside: Array
    water_inside: Array
    leak_rain: Array
    drained: Array
    leak_vapour: Array
    drip_outside: Array
    drip_inside: Array
    energy_gap: Array
    vapour_gap: Array
    energy_source: Array
    water_source: Array


def split_ledger(table: Array, gaps: int) -> Ledger:
    """Name the columns of the kernel's ledger."""
    pairs = ledger_pairs(gaps, table.shape[1])
    return Ledger(
        **{name: table[:, column] for name, column in LEDGER.items()},
        **{name: table[:, columns] for name, columns in pairs.items()},
    )


def closure(X0: Array, X1: Array, totals: Ledger, moved: Ledger) -> dict[str, float]:
    """Change of content minus what came in, relative to the throughput. [1]

    Parameters
    ----------
    X0, X1 : (n, 2) arrays
        Enthalpy and water of each cell at the start and the end.
    totals, moved : Ledger
        Sums and sums of magnitudes over all hours.
    """
    change = X1 - X0
    content = np.abs(X0).sum(axis=0)
    return {
        "energy": _relative(change[:, 0], content[0], _energy(totals), _energy(moved)),
        "moisture": _relative(change[:, 1], content[1], _water(totals), _water(moved)),
    }


def _water(ledger: Ledger) -> tuple[Array, ...]:
    return (
        ledger.vapour_outside,
        ledger.rain_absorbed,
        ledger.vapour_inside,
        ledger.water_inside,
        -ledger.vapour_gap,
        ledger.leak_rain,
        -ledger.drained,
        ledger.leak_vapour,
        -ledger.drip_outside,
        -ledger.drip_inside,
    )


def _energy(ledger: Ledger) -> tuple[Array, ...]:
    return (
        ledger.energy_outside,
        ledger.energy_inside,
        -ledger.energy_gap,
        ledger.energy_source,
    )


def _relative(
    change: Array, content: float, parts: tuple[Array, ...], moved: tuple[Array, ...]
) -> float:
    through = sum(float(np.abs(p).sum()) for p in moved) + float(np.abs(change).sum())
    missing = float(change.sum()) - sum(float(p.sum()) for p in parts)
    # a wall at rest moves less than the round-off of its content
    return abs(missing) / max(through, REST * content, 1e-12)


def enthalpy(T: Array, w: Array, ice: Array, dry: Array) -> Array:
    """Volumetric enthalpy; zero for dry material and liquid water at 0 °C. [J/m³]

    dry : (n,) density times heat capacity of the dry material. [J/(m³·K)]
    """
    theta = T - ZERO_CELSIUS
    fusion = HEAT_OF_FUSION + (HEAT_CAPACITY_WATER - HEAT_CAPACITY_ICE) * theta
    return (dry + w * HEAT_CAPACITY_WATER) * theta - ice * fusion


def layer_sums(values: Array, thickness: Array, layer: NDArray[np.int64]) -> Array:
    """Sum of cell values times thickness per layer. (N+1, layers)"""
    ends = np.flatnonzero(np.r_[True, np.diff(layer) > 0, True])
    sums = np.empty((len(values), len(ends) - 1))
    _layer_sums(np.ascontiguousarray(values), thickness, ends, sums)
    return sums


@entry
def _layer_sums(values: Array, thickness: Array, ends: NDArray[np.int64], sums: Array) -> None:
    for i in range(values.shape[0]):
        for k in range(len(ends) - 1):
            total = 0.0
            for cell in range(ends[k], ends[k + 1]):
                total += values[i, cell] * thickness[cell]
            sums[i, k] = total


def interface_fluxes(
    inflow: Array, content: Array, source: Array, gap_loss: dict[int, Array]
) -> Array:
    """Hour means through every interface from the balance of the layers, positive inward.

    Parameters
    ----------
    inflow : (N,)
        Integral through the outdoor surface.
    content : (N+1, layers)
        Content of the layers at the instants.
    source : (N, layers)
        What sources put into each layer.
    gap_loss : dict
        Interface index -> (N,) what leaves to outdoors through the gap there; the flux at that
        interface is the one that enters the inner layer.

    Returns
    -------
    (N, layers + 1) per second
    """
    through = np.empty((len(inflow), content.shape[1] + 1))
    flow = inflow
    through[:, 0] = flow
    for k in range(content.shape[1]):
        flow = flow + source[:, k] - np.diff(content[:, k])
        if k + 1 in gap_loss:
            flow = flow - gap_loss[k + 1]
        through[:, k + 1] = flow
    return through / 3600.0
