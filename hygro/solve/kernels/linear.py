"""Block-tridiagonal elimination from both ends, 2x2 blocks."""

from __future__ import annotations

from hygro.solve.control import MIDDLE
from hygro.solve.kernels.compiler import inlined


@inlined
def fold(wk, gdt, i, behind, ahead, w, y):
    """Eliminate cell i from the row ahead of it, with the cell behind it gone already.

    behind, ahead: columns of the blocks in J. w = D^-1 U and y of the cell behind; returns its own.
    """
    w0, w1, w2, w3 = w
    y0, y1 = y
    base, X, F, D, J, Dinv, Wm = wk.base, wk.X, wk.F, wk.D, wk.J, wk.Dinv, wk.Wm
    l0, l1 = -gdt * J[i, behind], -gdt * J[i, behind + 1]
    l2, l3 = -gdt * J[i, behind + 2], -gdt * J[i, behind + 3]
    a = D[i, 0] - gdt * J[i, 4] - (l0 * w0 + l1 * w2)
    b = D[i, 1] - gdt * J[i, 5] - (l0 * w1 + l1 * w3)
    c = D[i, 2] - gdt * J[i, 6] - (l2 * w0 + l3 * w2)
    d = D[i, 3] - gdt * J[i, 7] - (l2 * w1 + l3 * w3)
    r0 = base[i, 0] + gdt * F[i, 0] - X[i, 0] - (l0 * y0 + l1 * y1)
    r1 = base[i, 1] + gdt * F[i, 1] - X[i, 1] - (l2 * y0 + l3 * y1)
    inv = 1.0 / (a * d - b * c)
    ia, ib, ic, id_ = d * inv, -b * inv, -c * inv, a * inv
    Dinv[i, 0], Dinv[i, 1], Dinv[i, 2], Dinv[i, 3] = ia, ib, ic, id_
    u0, u1 = -gdt * J[i, ahead], -gdt * J[i, ahead + 1]
    u2, u3 = -gdt * J[i, ahead + 2], -gdt * J[i, ahead + 3]
    w0, w1, w2, w3 = ia * u0 + ib * u2, ia * u1 + ib * u3, ic * u0 + id_ * u2, ic * u1 + id_ * u3
    Wm[i, 0], Wm[i, 1], Wm[i, 2], Wm[i, 3] = w0, w1, w2, w3
    y0, y1 = ia * r0 + ib * r1, ic * r0 + id_ * r1
    wk.y[i, 0], wk.y[i, 1] = y0, y1
    return (w0, w1, w2, w3), (y0, y1)


@inlined
def eliminate(wk, gdt):
    """LU of D - gdt J and y = (D - gdt J)^-1 (base + gdt F - X), block tridiagonal, 2x2 blocks.

    From both ends to the middle: two chains of operations that do not wait for each other. Rows
    beyond the end of a wall change no bit of those before, so the middle is counted from outside.
    """
    base, X, F, D, J, Dinv = wk.base, wk.X, wk.F, wk.D, wk.J, wk.Dinv
    n = len(wk.y)
    m = min(MIDDLE, n - 1)
    z = 0.0 * gdt
    w, y = (z, z, z, z), (z, z)
    v, x = w, y
    for k in range(max(m, n - 1 - m)):
        if k < m:
            w, y = fold(wk, gdt, k, 0, 8, w, y)
        if k < n - 1 - m:
            v, x = fold(wk, gdt, n - 1 - k, 8, 0, v, x)
    l0, l1, l2, l3 = -gdt * J[m, 0], -gdt * J[m, 1], -gdt * J[m, 2], -gdt * J[m, 3]
    u0, u1, u2, u3 = -gdt * J[m, 8], -gdt * J[m, 9], -gdt * J[m, 10], -gdt * J[m, 11]
    a = D[m, 0] - gdt * J[m, 4] - (l0 * w[0] + l1 * w[2]) - (u0 * v[0] + u1 * v[2])
    b = D[m, 1] - gdt * J[m, 5] - (l0 * w[1] + l1 * w[3]) - (u0 * v[1] + u1 * v[3])
    c = D[m, 2] - gdt * J[m, 6] - (l2 * w[0] + l3 * w[2]) - (u2 * v[0] + u3 * v[2])
    d = D[m, 3] - gdt * J[m, 7] - (l2 * w[1] + l3 * w[3]) - (u2 * v[1] + u3 * v[3])
    inv = 1.0 / (a * d - b * c)
    Dinv[m, 0], Dinv[m, 1], Dinv[m, 2], Dinv[m, 3] = d * inv, -b * inv, -c * inv, a * inv
    r0 = base[m, 0] + gdt * F[m, 0] - X[m, 0] - (l0 * y[0] + l1 * y[1]) - (u0 * x[0] + u1 * x[1])
    r1 = base[m, 1] + gdt * F[m, 1] - X[m, 1] - (l2 * y[0] + l3 * y[1]) - (u2 * x[0] + u3 * x[1])
    outward(wk, m, r0, r1)


@inlined
def outward(wk, m, r0, r1):
    """Solve for the middle cell m and substitute from there to both ends."""
    Dinv, Wm, y = wk.Dinv, wk.Wm, wk.y
    n = len(y)
    y0, y1 = Dinv[m, 0] * r0 + Dinv[m, 1] * r1, Dinv[m, 2] * r0 + Dinv[m, 3] * r1
    y[m, 0], y[m, 1] = y0, y1
    x0, x1 = y0, y1
    for k in range(1, max(m, n - 1 - m) + 1):
        i, j = m - k, m + k
        if i >= 0:
            y0, y1 = (
                y[i, 0] - (Wm[i, 0] * y0 + Wm[i, 1] * y1),
                y[i, 1] - (Wm[i, 2] * y0 + Wm[i, 3] * y1),
            )
            y[i, 0], y[i, 1] = y0, y1
        if j < n:
            x0, x1 = (
                y[j, 0] - (Wm[j, 0] * x0 + Wm[j, 1] * x1),
                y[j, 1] - (Wm[j, 2] * x0 + Wm[j, 3] * x1),
            )
            y[j, 0], y[j, 1] = x0, x1


@inlined
def forward(wk, gdt, i, behind, y):
    """Forward substitution in cell i, with y of the cell behind it; returns its own."""
    J, Dinv, r = wk.J, wk.Dinv, wk.r
    r0 = r[i, 0] + gdt * (J[i, behind] * y[0] + J[i, behind + 1] * y[1])
    r1 = r[i, 1] + gdt * (J[i, behind + 2] * y[0] + J[i, behind + 3] * y[1])
    y0, y1 = Dinv[i, 0] * r0 + Dinv[i, 1] * r1, Dinv[i, 2] * r0 + Dinv[i, 3] * r1
    wk.y[i, 0], wk.y[i, 1] = y0, y1
    return y0, y1


@inlined
def solve(wk, gdt):
    """Solve with the stored LU: y = (D - gdt J)^-1 r."""
    J, r = wk.J, wk.r
    n = len(r)
    m = min(MIDDLE, n - 1)
    zero = 0.0 * gdt
    y, x = (zero, zero), (zero, zero)
    for k in range(max(m, n - 1 - m)):
        if k < m:
            y = forward(wk, gdt, k, 0, y)
        if k < n - 1 - m:
            x = forward(wk, gdt, n - 1 - k, 8, x)
    r0 = J[m, 0] * y[0] + J[m, 1] * y[1] + J[m, 8] * x[0] + J[m, 9] * x[1]
    r1 = J[m, 2] * y[0] + J[m, 3] * y[1] + J[m, 10] * x[0] + J[m, 11] * x[1]
    outward(wk, m, r[m, 0] + gdt * r0, r[m, 1] + gdt * r1)
