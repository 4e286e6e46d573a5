"""Block-tridiagonal elimination from both ends, 2x2 blocks.

The matrix is that of a stage over its length, D/gdt - J, so that blocks of J stand as they are.
"""

from __future__ import annotations

from hygro.solve.control import MIDDLE
from hygro.solve.kernels.compiler import inlined
from hygro.solve.lanes import fma


@inlined
def times(A, x):
    """Product of a 2x2 block with a column."""
    return fma(A[0], x[0], A[1] * x[1]), fma(A[2], x[0], A[3] * x[1])


@inlined
def plus(y, A, x):
    """Sum y + A x of columns, with a 2x2 block A."""
    return fma(A[0], x[0], fma(A[1], x[1], y[0])), fma(A[2], x[0], fma(A[3], x[1], y[1]))


@inlined
def less(A, L, w):
    """Difference A - L w of 2x2 blocks."""
    l0, l1, l2, l3 = L
    w0, w1, w2, w3 = w
    return (
        fma(-l0, w0, fma(-l1, w2, A[0])), fma(-l0, w1, fma(-l1, w3, A[1])),
        fma(-l2, w0, fma(-l3, w2, A[2])), fma(-l2, w1, fma(-l3, w3, A[3])),
    )  # fmt: skip


@inlined
def block(A, i, first):
    """Four columns of row i as a block."""
    return A[i, first], A[i, first + 1], A[i, first + 2], A[i, first + 3]


@inlined
def own(wk, per, i):
    """Block D/gdt - J of cell i over itself, and the right-hand side (base - X)/gdt + F.

    Water has no slope over the temperature.
    """
    D, J, F, base, X = wk.D, wk.J, wk.F, wk.base, wk.X
    A = (
        fma(per, D[i, 0], -J[i, 4]),
        fma(per, D[i, 1], -J[i, 5]),
        -J[i, 6],
        fma(per, D[i, 3], -J[i, 7]),
    )
    return A, (fma(per, base[i, 0] - X[i, 0], F[i, 0]), fma(per, base[i, 1] - X[i, 1], F[i, 1]))


@inlined
def inverted(wk, i, A):
    """Inverse of the block of cell i, kept for `solve`."""
    a, b, c, d = A
    inv = 1.0 / fma(a, d, -(b * c))
    inverse = d * inv, -b * inv, -c * inv, a * inv
    wk.Dinv[i, 0], wk.Dinv[i, 1], wk.Dinv[i, 2], wk.Dinv[i, 3] = inverse
    return inverse


@inlined
def fold(wk, per, i, behind, ahead, w, y):
    """Eliminate cell i from the row ahead of it, with the cell behind it gone already.

    behind, ahead: columns of the blocks in J. w = A^-1 J and y of the cell behind; returns its own.
    """
    L, U = block(wk.J, i, behind), block(wk.J, i, ahead)
    A, r = own(wk, per, i)
    inverse = inverted(wk, i, less(A, L, w))
    y = times(inverse, plus(r, L, y))
    w0, w2 = times(inverse, (U[0], U[2]))
    w1, w3 = times(inverse, (U[1], U[3]))
    wk.Wm[i, 0], wk.Wm[i, 1], wk.Wm[i, 2], wk.Wm[i, 3] = w0, w1, w2, w3
    wk.y[i, 0], wk.y[i, 1] = y
    return (w0, w1, w2, w3), y


@inlined
def eliminate(wk, gdt):
    """LU of D/gdt - J and y = (D - gdt J)^-1 (base + gdt F - X), block tridiagonal, 2x2 blocks.

    From both ends to the middle: two chains of operations that do not wait for each other. Rows
    beyond the end of a wall change no bit of those before, so the middle is counted from outside.
    """
    n, per = len(wk.y), 1.0 / gdt
    m = min(MIDDLE, n - 1)
    z = 0.0 * gdt
    w, y = (z, z, z, z), (z, z)
    v, x = w, y
    for k in range(max(m, n - 1 - m)):
        if k < m:
            w, y = fold(wk, per, k, 0, 8, w, y)
        if k < n - 1 - m:
            v, x = fold(wk, per, n - 1 - k, 8, 0, v, x)
    L, U = block(wk.J, m, 0), block(wk.J, m, 8)
    A, r = own(wk, per, m)
    inverse = inverted(wk, m, less(less(A, L, w), U, v))
    outward(wk, m, times(inverse, plus(plus(r, L, y), U, x)))


@inlined
def outward(wk, m, middle):
    """Substitute from the middle cell m, whose solution is known, to both ends."""
    Wm, y = wk.Wm, wk.y
    n = len(y)
    y[m, 0], y[m, 1] = middle
    a = c = middle
    for k in range(1, max(m, n - 1 - m) + 1):
        i, j = m - k, m + k
        if i >= 0:
            a = plus((y[i, 0], y[i, 1]), block(Wm, i, 0), a)
            y[i, 0], y[i, 1] = a
        if j < n:
            c = plus((y[j, 0], y[j, 1]), block(Wm, j, 0), c)
            y[j, 0], y[j, 1] = c


@inlined
def forward(wk, per, i, behind, y):
    """Forward substitution in cell i, with y of the cell behind it; returns its own."""
    r = per * wk.r[i, 0], per * wk.r[i, 1]
    y = times(block(wk.Dinv, i, 0), plus(r, block(wk.J, i, behind), y))
    wk.y[i, 0], wk.y[i, 1] = y
    return y


@inlined
def solve(wk, gdt):
    """Solve with the stored LU: y = (D - gdt J)^-1 r."""
    J, r = wk.J, wk.r
    n, per = len(r), 1.0 / gdt
    m = min(MIDDLE, n - 1)
    zero = 0.0 * gdt
    y, x = (zero, zero), (zero, zero)
    for k in range(max(m, n - 1 - m)):
        if k < m:
            y = forward(wk, per, k, 0, y)
        if k < n - 1 - m:
            x = forward(wk, per, n - 1 - k, 8, x)
    known = plus((per * r[m, 0], per * r[m, 1]), block(J, m, 0), y)
    outward(wk, m, times(block(wk.Dinv, m, 0), plus(known, block(J, m, 8), x)))
