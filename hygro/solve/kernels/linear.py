"""Block-tridiagonal elimination from outside to inside, 2x2 blocks, cell by cell.

The matrix is that of a stage over its length, D/gdt - J, so that blocks of J stand as they are.
"""

from __future__ import annotations

from hygro.solve.kernels.compiler import inlined
from hygro.solve.kernels.passes import is_near, over_rows, pair
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
def keep(A, i, x):
    """A block into row i."""
    A[i, 0], A[i, 1], A[i, 2], A[i, 3] = x


@inlined
def fold(wk, per, i, own, ahead, r, gone, held, L, asked):
    """Eliminate cell i from the row of the next; `gone` is (w, y) of the cell before it.

    own, ahead: blocks of J over the cell and over the next, L over the one before; r what comes
    into it; held: X and D of it. Keeps w = A^-1 J and y of the cell for `back`, and returns them;
    where asked, keeps the inverse of the block for the estimate of the error.
    """
    if is_near(wk.y):  # read back, so that fewer registers are put aside
        held, L = (pair(wk.X, i), (wk.D[i, 0], wk.D[i, 1], wk.D[i, 3])), block(wk.L, i, 0)
    (X0, X1), (D0, D1, D3), base, y = held[0], held[1], wk.base, gone[1]
    # water has no slope over the temperature
    A = (
        fma(per, D0, -own[0]), fma(per, D1, -own[1]), -own[2], fma(per, D3, -own[3])
    )  # fmt: skip
    a, b, c, d = less(A, L, gone[0])
    inv = 1.0 / fma(a, d, -(b * c))
    inverse = d * inv, -b * inv, -c * inv, a * inv
    r = fma(per, base[i, 0] - X0, r[0]), fma(per, base[i, 1] - X1, r[1])
    y = times(inverse, plus(r, L, y))
    w0, w2 = times(inverse, (ahead[0], ahead[2]))
    w1, w3 = times(inverse, (ahead[1], ahead[3]))
    if asked:
        keep(wk.inverse, i, inverse)
    keep(wk.w, i, (w0, w1, w2, w3))
    wk.y[i, 0], wk.y[i, 1] = y
    return (w0, w1, w2, w3), y


@inlined
def nothing_gone(zero):
    """What `fold` has of the cell before the first."""
    return (zero, zero, zero, zero), (zero, zero)


@inlined
def outward(wk):
    """Substitute from the last cell, whose solution is known, to the first."""
    n = len(wk.y)
    over_rows(wk.y, n - 1, _kept_of_next, _outward, (wk, n - 2), pair(wk.y, n - 1))


@inlined
def _kept_of_next(k, given):
    wk, first = given
    return kept_of(wk, first - k)


@inlined
def _outward(k, row, given, x):
    wk, first = given
    return back(wk, first - k, row, x)


@inlined
def kept_of(wk, i):
    """What `fold` has kept of cell i for `back`: y and w."""
    return pair(wk.y, i), block(wk.w, i, 0)


@inlined
def back(wk, i, kept, x):
    """The solution in cell i from that in the next."""
    x = plus(kept[0], kept[1], x)
    wk.y[i, 0], wk.y[i, 1] = x
    return x


@inlined
def solve(wk, gdt):
    """Solve with what `fold` has kept: y = (D - gdt J)^-1 r."""
    zero = 0.0 * gdt
    over_rows(wk.y, len(wk.y), _right_side, _inward, (wk, 1.0 / gdt), (zero, zero))
    outward(wk)


@inlined
def _right_side(i, given):
    wk, _ = given
    return pair(wk.r, i), block(wk.L, i, 0), block(wk.inverse, i, 0)


@inlined
def _inward(i, row, given, x):
    wk, per = given
    r, L, inverse = row
    x = times(inverse, plus((per * r[0], per * r[1]), L, x))
    wk.y[i, 0], wk.y[i, 1] = x
    return x
