"""Passes over rows of arrays: each row read, worked on and written.

On a card no read passes a write, and memory is far: there some rows are read before one is written.
"""

from __future__ import annotations

from hygro.solve.kernels.compiler import inlined
from hygro.solve.lanes import AT_ONCE, rows_at_once, some, where, width_of

assert AT_ONCE == 4, f"over_rows writes out four rows: cannot read {AT_ONCE} at once"


@inlined
def is_near(array):
    """Whether memory is near, as a processor's is to it; a constant for the compiler."""
    return rows_at_once(array) == 1


@inlined
def over_rows(array, count, read, work, given, carried):
    """Go through rows 0..count-1: carried = work(k, read(k, given), given, carried).

    Says what was carried on from the last. What `read` reads of a row no other row may write.
    `array` is one of those that are gone through; it tells where they lie.
    """
    if is_near(array):
        for k in range(count):
            carried = work(k, read(k, given), given, carried)
        return carried
    last = count - 1
    for k in range(0, count, AT_ONCE):
        a, b = read(k, given), read(min(k + 1, last), given)
        c, d = read(min(k + 2, last), given), read(min(k + 3, last), given)
        carried = some_rows(k, count, (a, b, c, d), work, given, carried)
    return carried


@inlined
def some_rows(k, count, rows, work, given, carried):
    """Four rows that were read, from row k on, as far as there are so many."""
    if k < count:
        carried = work(k, rows[0], given, carried)
    if k + 1 < count:
        carried = work(k + 1, rows[1], given, carried)
    if k + 2 < count:
        carried = work(k + 2, rows[2], given, carried)
    if k + 3 < count:
        carried = work(k + 3, rows[3], given, carried)
    return carried


@inlined
def put(array, key, mask, value):
    """Write a value in the lanes where the mask holds; one lane alone is not read for that."""
    if width_of(array) == 1:
        if some(mask):
            array[key] = value
    else:
        array[key] = where(mask, value, array[key])


@inlined
def pair(array, i):
    """Both columns of a row."""
    return array[i, 0], array[i, 1]
