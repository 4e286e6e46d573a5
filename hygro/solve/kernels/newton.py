"""Newton iteration of a stage: how large updates are, when a stage is closed, damping."""

from __future__ import annotations

from hygro.constants import HEAT_CAPACITY_WATER as C_W
from hygro.constants import ZERO_CELSIUS as T0
from hygro.solve.control import (
    BEND_FADES,
    BEND_LIMIT,
    BEND_RISES,
    BENT_SIZE,
    DAMP,
    DRAINING_CLOSE,
    FREEZING_CLOSE,
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
from hygro.solve.kernels.compiler import inlined
from hygro.solve.kernels.linear import back
from hygro.solve.lanes import least, most, some, where


@inlined
def measure(pb, wk, per_T, per_u):
    """The Newton updates from the last cell to the first, their sizes, and whether storage bends.

    Follows `evaluate`; sizes go to rows of wk.at.
    Where a cell freezes or thaws, heat bends by the latent heat within a part of a kelvin, so that
    what an update moves counts there as what it would warm the cell by without ice; where it
    begins or ends to drain, what runs off bends at its highest u: straight on it would be less than
    nothing (`ROUGH`). Where it saturates, water bends at u = 1 (`BENDS`); straight on from beyond,
    a cell of wool gives more than it holds, and none may owe water (`ROUGH`).
    """
    T, u, X, D, y, at = wk.T, wk.u, wk.X, wk.D, wk.y, wk.at
    zero = 0.0 * T[0]
    top_T, top_u, total = zero, zero, zero
    rough = zero != zero
    bends = rough
    n = len(T)
    x = y[n - 1, 0], y[n - 1, 1]
    for k in range(n):
        i = n - 1 - k
        if k > 0:
            x = back(wk, i, x)
        dT, du = x
        size_T, size_u = abs(dT), abs(du)
        top_T, top_u = most(top_T, size_T), most(top_u, size_u)
        total += size_T * per_T + size_u * per_u
        # the way from T on reaches into the kelvin below 0 °C
        cold = abs((T[i] - (T0 - 0.5)) + 0.5 * dT) < 0.5 + 0.5 * size_T
        if some(cold):
            dry = pb.cell[i, DX] * pb.cell[i, RHO_C] + C_W * X[i, 1]
            rough = rough | (cold & (size_T * per_T * D[i, 0] > FREEZING_CLOSE * dry))
        if some(u[i] + most(du, 0.0) >= 1.0):
            cap = pb.cell[i, CAP]
            crosses = (u[i] - cap) * (u[i] + du - cap) < 0.0
            rough = rough | (crosses & (size_u > DRAINING_CLOSE))
            bends = bends | ((u[i] - 1.0) * (u[i] + du - 1.0) < 0.0)
            rough = rough | ((u[i] > 1.0) & (X[i, 1] + D[i, 3] * du < 0.0))
    at[TOP_T], at[TOP_U], at[TOTAL] = top_T, top_u, total
    at[ROUGH], at[BENDS] = where(rough, 1.0, zero), where(bends, 1.0, zero)


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
    at, y, relax = wk.at, wk.y, wk.at[RELAX]
    going, again, late = at[MODE] == GO, at[COUNT] > 1.0, at[COUNT] > LATE
    for i in range(len(wk.T)):
        T, u = wk.T[i], wk.u[i]
        dT = most(least(relax * y[i, 0], UPDATE_T), -UPDATE_T)
        du = most(least(relax * y[i, 1], UPDATE_U), -UPDATE_U)
        dT = held_back(wk, i, 0, dT, again, late, going)
        du = held_back(wk, i, 1, du, again, late, going)
        wk.T[i] = where(going, most(least(T + dT, T_HIGH), T_LOW), T)
        wk.u[i] = where(going, most(most(u + du, KEEP * u), U_MIN), u)


@inlined
def held_back(wk, i, e, change, again, late, going):
    """A change of cell i; against the one before it part of that at most, later on ever less.

    Across a bend, straight lines of either side may lead to and fro between the same states.
    """
    before, room = wk.moved[i, e], wk.room[i, e]
    back = again & (change * before < 0.0)
    room = where(late, room, 1e30)
    turned = least(TURN_BACK * abs(before), room)
    reach = where(back, turned, room)
    change = most(least(change, reach), -reach)
    wk.room[i, e] = where(going, reach, wk.room[i, e])
    wk.moved[i, e] = where(going, change, before)
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
