"""Newton iteration of a stage: how large updates are, when a stage is closed, damping."""

from __future__ import annotations

from typing import NamedTuple

from hygro.constants import HEAT_CAPACITY_ICE as C_ICE
from hygro.constants import HEAT_CAPACITY_WATER as C_W
from hygro.constants import HEAT_OF_FUSION as L_F
from hygro.constants import ZERO_CELSIUS as T0
from hygro.solve.control import (
    BEND_FADES,
    BEND_LIMIT,
    BEND_RISES,
    BENT_SIZE,
    DAMP,
    DRAINING_CLOSE,
    FREEZING_CLOSE,
    FREEZING_LEAST,
    HOPELESS,
    KEEP,
    LATE,
    LEAST_DAMP,
    SHRINKS,
    T_HIGH,
    T_LOW,
    TURN_BACK,
    U_MIN,
    UNDAMP,
    UPDATE_T,
    UPDATE_U,
)
from hygro.solve.kernels.arrays import (
    BEFORE,
    BENDS,
    CAP,
    COUNT,
    DX,
    FIRST,
    FREEZING,
    GO,
    LOST,
    MODE,
    NEWTON_CLOSE,
    NEWTON_LIMIT,
    NEWTON_T,
    NEWTON_U,
    RELAX,
    RHO_C,
    ROUGH,
    SECOND,
    STAGE,
    TOP_T,
    TOP_U,
    TOTAL,
)
from hygro.solve.kernels.cell import ice_of
from hygro.solve.kernels.compiler import compiled, inlined
from hygro.solve.kernels.linear import back, kept_of
from hygro.solve.kernels.passes import over_rows, pair, put
from hygro.solve.lanes import Number, least, most, some, where


@inlined
def measure(pb, wk, per_T, per_u):
    """The Newton updates from the last cell to the first, their sizes, and whether storage bends.

    Follows `evaluate`; sizes go to rows of wk.at.
    Where a cell freezes or thaws, heat bends by the latent heat within a part of a kelvin, so that
    what an update moves, and what it leaves out (`left_out`), counts there as what it would warm
    the cell by without ice; where it begins or ends to drain, what runs off bends at its highest u:
    straight on it would be less than nothing (`ROUGH`). Where it saturates, water bends at u = 1
    (`BENDS`); straight on from beyond, a cell of wool gives more than it holds, and none may owe
    water (`ROUGH`).
    """
    at, n = wk.at, len(wk.T)
    zero = 0.0 * wk.T[0]
    never = zero != zero
    found = over_rows(
        wk.T, n, _solved_and_state, _measured, (pb, wk, n - 1, per_T, per_u),
        ((zero, zero), (zero, zero, zero), never, never),
    )  # fmt: skip
    _, (at[TOP_T], at[TOP_U], at[TOTAL]), rough, bends = found
    at[ROUGH], at[BENDS] = where(rough, 1.0, zero), where(bends, 1.0, zero)


@inlined
def _solved_and_state(k, given):
    _, wk, last, _, _ = given
    return kept_of(wk, last - k), wk.T[last - k], wk.u[last - k]


@inlined
def _measured(k, row, given, found):
    """One cell of `measure`; carried are the update inside of it, sizes, rough, bends."""
    pb, wk, last, per_T, per_u = given
    kept, T, u = row
    x, (top_T, top_u, total), rough, bends = found
    i, X, D = last - k, wk.X, wk.D
    x = back(wk, i, kept, x) if k > 0 else kept[0]
    dT, du = x
    size_T, size_u = abs(dT), abs(du)
    total = total + (size_T * per_T + size_u * per_u)
    # the way from T on reaches into the kelvin below 0 °C
    cold = abs((T - (T0 - 0.5)) + 0.5 * dT) < 0.5 + 0.5 * size_T
    if some(cold):
        dry = pb.cell[i, DX] * pb.cell[i, RHO_C] + C_W * X[i, 1]
        rough = rough | (cold & (size_T * per_T * D[i, 0] > FREEZING_CLOSE * dry))
        far = cold & (size_T * per_T > FREEZING_LEAST)
        if pb.flags[FREEZING] != 0 and some(far):
            more = D[i, 3] * du
            by_lines = (D[i, 0] - dry) * dT + D[i, 1] * du - C_W * (T - T0) * more
            left = left_out(pb.tab, pb.cell, i, T, u, X[i, 1], dT, du, more, by_lines)
            rough = rough | (far & (left * per_T > FREEZING_CLOSE * dry))
    if some(u + most(du, 0.0) >= 1.0):
        cap = pb.cell[i, CAP]
        crosses = (u - cap) * (u + du - cap) < 0.0
        rough = rough | (crosses & (size_u > DRAINING_CLOSE))
        bends = bends | ((u - 1.0) * (u + du - 1.0) < 0.0)
        rough = rough | ((u > 1.0) & (X[i, 1] + D[i, 3] * du < 0.0))
    return x, (most(top_T, size_T), most(top_u, size_u), total), rough, bends


@compiled
def left_out(tab, cell, i, T, u, water, dT, du, more, by_lines):
    """Heat of freezing of cell i that straight lines leave out of an update. [J/m²]

    A line from above 0 °C, or from where the pores hold all water liquid, knows nothing of ice.
    Given are the state, its changes, and the latent heat by the slopes there; water in kg/m².
    """
    dx = cell[i, DX]
    then = ice_of(tab, cell, i, T + dT, u + du, (water + more) / dx)
    ice = then - ice_of(tab, cell, i, T, u, water / dx)
    return abs(by_lines + (L_F + (C_W - C_ICE) * (T - T0)) * dx * ice)


@inlined
def decide(wk, st, control, k):
    """What lane k does with its Newton update: go on, close its stage, or give the step up.

    On closing, X follows linearly from the last iterate, so that the sum over cells balances the
    ledger to round-off.
    """
    at = wk.at
    count = at[COUNT, k]
    size = max(at[TOP_T, k] / control[NEWTON_T], at[TOP_U, k] / control[NEWTON_U])
    close, before, relax = control[NEWTON_CLOSE], at[BEFORE, k], at[RELAX, k]
    if not at[TOTAL, k] < HOPELESS:
        return LOST
    # Newton leaves about bend * size^2; bend is learnt from pairs of full updates
    bend = st.memory[1, k]
    if count > 0.0 and relax == 1.0 and before > close:
        bend = min(max(BEND_FADES * bend, size / (before * before)), BEND_LIMIT)
    near = size < close
    bent = relax == 1.0 and size < BENT_SIZE and bend * size * size < close
    if (near or (bent and at[BENDS, k] == 0.0)) and at[ROUGH, k] == 0.0:
        st.memory[1, k] = BEND_RISES * bend if count == 0.0 else bend
        return FIRST if at[STAGE, k] == 0.0 else SECOND
    st.memory[1, k] = bend
    at[COUNT, k] = count + 1.0
    return GO if count + 1.0 < control[NEWTON_LIMIT] else LOST


@inlined
def go_on(wk):
    """Damped updates of lanes that go on iterating."""
    at = wk.at
    count = at[COUNT]
    times = Times(at[MODE] == GO, count > 1.0, count > LATE - 1.0, count > LATE)
    over_rows(wk.T, len(wk.T), _before_update, _updated, (wk, at[RELAX], times), 0)


class Times(NamedTuple):
    """Which lanes go on, have a change before this, come to be held back ever more, and are."""

    going: Number
    again: Number
    soon: Number
    late: Number


@inlined
def _before_update(i, given):
    """What an update needs; changes before it and what they left room for, where these count."""
    wk, _, times = given
    T, u = wk.T[i], wk.u[i]
    moved = pair(wk.moved, i) if some(times.again) else (T, u)
    room = pair(wk.room, i) if some(times.late) else (T, u)
    return pair(wk.y, i), moved, room, T, u


@inlined
def _updated(i, row, given, carried):
    wk, relax, times = given
    going = times.going
    y, moved, room, T, u = row
    dT = most(least(relax * y[0], UPDATE_T), -UPDATE_T)
    du = most(least(relax * y[1], UPDATE_U), -UPDATE_U)
    dT = held_back(wk, (i, 0), dT, moved[0], room[0], times)
    du = held_back(wk, (i, 1), du, moved[1], room[1], times)
    put(wk.T, i, going, most(least(T + dT, T_HIGH), T_LOW))
    put(wk.u, i, going, most(most(u + du, KEEP * u), U_MIN))
    return carried


@inlined
def held_back(wk, at, change, before, room, times):
    """A change of a cell; against the one before it part of that at most, later on ever less.

    Across a bend, straight lines of either side may lead to and fro between the same states.
    """
    back = times.again & (change * before < 0.0)
    room = where(times.late, room, 1e30)
    turned = least(TURN_BACK * abs(before), room)
    reach = where(back, turned, room)
    change = most(least(change, reach), -reach)
    if some(times.soon):
        put(wk.room, at, times.going, reach)
    put(wk.moved, at, times.going, change)
    return change


@inlined
def damp(wk, control, k):
    """Damping of the next iteration of lane k, by how the updates shrink."""
    at = wk.at
    top_T, top_u, relax = at[TOP_T, k], at[TOP_U, k], at[RELAX, k]
    size = max(top_T / control[NEWTON_T], top_u / control[NEWTON_U])
    if relax * top_T <= UPDATE_T and relax * top_u <= UPDATE_U:
        shrinks = size <= SHRINKS * at[BEFORE, k]
        at[RELAX, k] = min(1.0, UNDAMP * relax) if shrinks else max(LEAST_DAMP, DAMP * relax)
    at[BEFORE, k] = size
