"""Column numbers of the arrays that go to the kernels and come back, each declared once, by name.

Imports nothing, so that the kernels may read it.
"""

from __future__ import annotations

# sides of the loads
OUTSIDE, INSIDE = range(2)
# what acts on a surface: values at the instants, then means of the hour
B_T, B_P, B_H, B_BETA, B_RADIATION, B_RAIN = range(6)
INSTANT = {
    "temperature": B_T,
    "vapour_pressure": B_P,
    "heat_coefficient": B_H,
    "vapour_coefficient": B_BETA,
}
"""Columns of the instants by field of `SurfaceLoads`."""
M_RADIATION, M_RAIN = range(2)
MEAN = {"radiation": M_RADIATION, "rain": M_RAIN}
"""Columns of the hourly means by field of `SurfaceLoads`."""

# the ledger; then energy and water per gap, then energy and water of sources per layer
(E_OUT, G_OUT, RAIN_IN, E_IN, G_IN, WET_IN, LEAK, DRAINED, AIR_DROP, DRIP_OUT, DRIP_IN,
 FIXED) = range(12)  # fmt: skip
LEDGER = {
    "energy_outside": E_OUT,
    "vapour_outside": G_OUT,
    "rain_absorbed": RAIN_IN,
    "energy_inside": E_IN,
    "vapour_inside": G_IN,
    "water_inside": WET_IN,
    "leak_rain": LEAK,
    "drained": DRAINED,
    "leak_vapour": AIR_DROP,
    "drip_outside": DRIP_OUT,
    "drip_inside": DRIP_IN,
}
"""Columns of the ledger by field of `balance.Ledger`."""


def ledger_entries(gaps: int, layers: int) -> int:
    """How many columns the ledger has."""
    return FIXED + 2 * gaps + 2 * layers


def ledger_pairs(gaps: int, entries: int) -> dict[str, slice]:
    """Where energy and water of the gaps and of the sources in the layers stand, by field."""
    layer = FIXED + 2 * gaps
    return {
        "energy_gap": slice(FIXED, layer, 2),
        "vapour_gap": slice(FIXED + 1, layer, 2),
        "energy_source": slice(layer, entries, 2),
        "water_source": slice(layer + 1, entries, 2),
    }
