"""The order in which what grows meets the instants of a record. Rates nothing."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Order = NDArray[np.int64]


class Course(NamedTuple):
    """Instants in the order in which they are met, some of them again and again.

    Attributes
    ----------
    order : array of int
        Places of the instants.
    told : int
        How many at the end are told; those before only lead there.
    again : int
        Up to the first that is told the order repeats after so many; 0: it does not. So what comes
        back to a state that it had so many before goes the same way again.
    lowest : int
        No instant before this one is met.
    """

    order: Order
    told: int
    again: int = 0
    lowest: int = 0


def once(instants: int) -> Course:
    """All of them, from the first to the last."""
    return course(np.arange(instants), instants)


def course(order: Order, told: int, again: int = 0) -> Course:
    """An order that nobody can change."""
    order.flags.writeable = False
    return Course(order, told, again, int(order.min()))
