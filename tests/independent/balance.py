"""Balances of heat and water of the independent model: rates of what every node holds.

Unknowns are the conserved quantities per volume, enthalpy H [J/m³] and water w [kg/m³], in turn.
Formulas: `docs/numerics.md` (5) to (15) and `docs/real-walls.md`, written anew.
"""

from __future__ import annotations

from independent.constants import (
    AIR,
    BETA_OUT,
    C_AIR,
    C_V,
    C_W,
    CAP,
    COLD,
    COLD_STEP,
    DENSITY,
    DRAIN,
    DRIVEN,
    EMITS,
    FILL,
    FILM,
    FREE,
    GAP,
    GREY,
    H_IN,
    H_OUT,
    HEAT_R,
    IN,
    KIND,
    L_V,
    LIQUID,
    MOVES,
    OUT,
    PI,
    PO,
    PS,
    R_HEAT,
    R_V,
    R_VAPOUR,
    RADIATION,
    RAIN,
    RANGE,
    RATE,
    RUN_OFF,
    SIZE,
    T_REF,
    THETA,
    TI,
    TO,
    TOUCH,
    Z_IN,
    Z_INSIDE,
    Z_OUT,
    ZERO,
    P,
    T,
)
from independent.state import diffused, ramp, state_of
from numba import njit


@njit
def inside(i, node, at, capillary):
    """Energy and water from node i to the next one of the same layer."""
    lo, li = node[i, IN], node[i + 1, OUT]
    dT = at[i, T] - at[i + 1, T]
    q = dT / (lo * at[i, R_HEAT] + li * at[i + 1, R_HEAT])
    v = (at[i, P] - at[i + 1, P]) / (lo * at[i, R_VAPOUR] + li * at[i + 1, R_VAPOUR])
    theta = 0.5 * (at[i, T] + at[i + 1, T]) - ZERO
    q += v * (L_V + C_V * theta)
    if capillary:
        warm = 0.5 * (at[i, T] + at[i + 1, T]) / T_REF
        g = (at[i, THETA] - at[i + 1, THETA]) / (lo + li) * warm * at[i, MOVES] * at[i + 1, MOVES]
        q += g * C_W * theta
        v += g
    return q, v


@njit
def takes(i, w, at, m, curves):
    """Share of the vapour through an interface that a capillary node still takes in.

    It takes none beyond free saturation, below 0 °C beyond what does not freeze.
    """
    number = curves.number[m]
    if number[LIQUID] == 0.0:
        return 1.0
    most = number[FREE]
    frost = ZERO - at[i, T]
    if frost > 0.0:
        x = min(frost / COLD_STEP, COLD - 1.0)
        k = int(x)
        most = curves.held[m, k] + (x - k) * (curves.held[m, k + 1] - curves.held[m, k])
    return min(max((most - w) / (0.01 * most), 0.0), 1.0)


@njit
def touching(i, y, link, at, material, curves):
    """Energy and water from node i to the next one, of another layer."""
    v = (at[i, P] - at[i + 1, P]) / (link[i, Z_OUT] + link[i, Z_IN])
    k = i + 1 if v > 0.0 else i
    v *= takes(k, y[2 * k + 1], at, material[k], curves)
    theta = 0.5 * (at[i, T] + at[i + 1, T]) - ZERO
    return (at[i, T] - at[i + 1, T]) / link[i, HEAT_R] + v * (L_V + C_V * theta), v


@njit
def across(i, link, at, load):
    """Energy and water that leave node i into a gap, and that reach the next node out of it."""
    a, c = at[i, T], at[i + 1, T]
    h, rate = link[i, FILM], link[i, RATE]
    exchange = rate * load[DENSITY] * C_AIR * T_REF / load[TO]
    air = (h * (a + c) + exchange * load[TO]) / (2.0 * h + exchange)
    shines = link[i, GREY] * (a * a + c * c) * (a + c) * (a - c)
    y1, y2, carries = 1.0 / link[i, Z_OUT], 1.0 / link[i, Z_IN], rate / (R_V * load[TO])
    p = (y1 * at[i, P] + y2 * at[i + 1, P] + carries * load[PO]) / (y1 + y2 + carries)
    latent = L_V + C_V * (0.5 * (a + c) - ZERO)
    v1, v2 = y1 * (at[i, P] - p), y2 * (p - at[i + 1, P])
    return h * (a - air) + shines + v1 * latent, v1, h * (air - c) + shines + v2 * latent, v2


@njit
def outdoors(y, node, at, load, free):
    """Energy and water into the outdoor surface: film, radiation, vapour, rain less run-off."""
    ts = at[0, T]
    q = load[H_OUT] * (load[TO] - ts) + load[RADIATION] - load[EMITS] * ts**4
    v = load[BETA_OUT] * (load[PO] - at[0, P])
    q += v * (L_V + C_V * (ts - ZERO))
    # ice does not run off
    loose = max(y[1] - free, 0.0) * node[0, SIZE] / RUN_OFF * ramp((ts - ZERO) / RANGE)
    rain = load[DRIVEN] - loose
    return q + rain * C_W * ((load[TO] if rain > 0.0 else ts) - ZERO), v + rain


@njit
def indoors(i, at, load):
    """Energy and water out of the indoor surface into the room."""
    t = at[i, T]
    v = (at[i, P] - load[PI]) / load[Z_INSIDE]
    latent = L_V + C_V * (0.5 * (t + load[TI]) - ZERO)
    return load[H_IN] * (t - load[TI]) + v * latent, v


@njit
def brought(i, w, node, at, load):
    """Energy and water that leaks bring to a node and that drains from it."""
    room = (node[i, CAP] - w) * node[i, SIZE]
    water = min(load[DRIVEN] * node[i, RAIN], max(room, 0.0) / FILL)
    if room < 0.0:
        water += room * ramp((at[i, T] - ZERO) / RANGE) / DRAIN
    air = node[i, AIR] / (R_V * T_REF)
    drop = max(load[PI] - at[i, PS], 0.0) + min(load[PI] - at[i, P], 0.0)
    vapour = air * drop
    theta = at[i, T] - ZERO
    return water * C_W * theta + vapour * (L_V + C_V * theta), water + vapour


@njit
def rates(y, out, load, nodes, at):
    """Rates per second of all nodes; `load` is that of the moment, `at` keeps their states."""
    node, link, material = nodes.node, nodes.link, nodes.material
    curves, n = nodes.curves, len(nodes.material)
    for i in range(n):
        state_of(i, y[2 * i], y[2 * i + 1], material[i], curves, at)
    free = curves.number[material[0], FREE]
    # rain that the surface does not take stands on it, not in its pores
    at[0, THETA] = diffused(curves.number[material[0]], min(y[1], free))
    q, v = outdoors(y, node, at, load, free)
    for i in range(n):
        if i == n - 1:
            q1, v1 = indoors(i, at, load)
            q2, v2 = q1, v1
        elif link[i, KIND] == GAP:
            q1, v1, q2, v2 = across(i, link, at, load)
        elif link[i, KIND] == TOUCH:
            q1, v1 = touching(i, y, link, at, material, curves)
            q2, v2 = q1, v1
        else:
            q1, v1 = inside(i, node, at, curves.number[material[i], LIQUID] > 0.0)
            q2, v2 = q1, v1
        e, g = brought(i, y[2 * i + 1], node, at, load)
        out[2 * i] = (q - q1 + e) / node[i, SIZE]
        out[2 * i + 1] = (v - v1 + g) / node[i, SIZE]
        q, v = q2, v2
