"""Many values from one place to another by several threads: numpy copies while others run."""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor

import numpy as np

from hygro.solve.setup import Array

HANDS = 8
"""Threads at most; one takes as long as the march of a card (our choice)."""
HANDFUL = 1 << 26
"""What a thread has to copy to be worth it (our choice). [bytes]"""


def copied(pairs: Sequence[tuple[Array, Array]]) -> None:
    """Copy the second of each pair into the first, some rows of them in each thread."""
    hands = min(HANDS, 1 + sum(new.nbytes for _, new in pairs) // HANDFUL)
    split = [[np.array_split(x, hands) for x in pair] for pair in pairs]
    rooms, parts = ([x for pair in split for x in pair[side]] for side in (0, 1))
    with ThreadPoolExecutor(hands) as pool:
        list(pool.map(np.copyto, rooms, parts))
