"""The digest of arrays: equal digests, equal bits, at little more than the time of reading them.

A change by accident changes the digest; it is no proof against one made on purpose.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from hygro.solve.kernels.compiler import entry, inlined

Words = NDArray[np.uint64]
LANES = 4
"""Words that are folded beside each other."""
_FACTOR, _HALF = np.uint64(0x9E3779B97F4A7C15), np.uint64(32)


def digest_of(arrays: Iterable[NDArray[np.float64]]) -> str:
    """SHA-256 over the shapes of some arrays and the fold of their bits."""
    found = hashlib.sha256()
    for values in arrays:
        state = np.arange(1, LANES + 1, dtype=np.uint64)
        _fold(np.ascontiguousarray(values, dtype=np.float64).reshape(-1).view(np.uint64), state)
        found.update(repr(values.shape).encode() + state.tobytes())
    return found.hexdigest()


@entry
def _fold(words: Words, state: Words) -> None:
    """Fold words into a state, each step one to one in the word and in the state."""
    a, b, c, d = state[0], state[1], state[2], state[3]
    whole = len(words) // LANES * LANES
    for i in range(0, whole, LANES):
        a, b = _mixed(a, words[i]), _mixed(b, words[i + 1])
        c, d = _mixed(c, words[i + 2]), _mixed(d, words[i + 3])
    for i in range(whole, len(words)):
        a = _mixed(a, words[i])
    state[0], state[1], state[2], state[3] = a, b, c, d


@inlined
def _mixed(state: np.uint64, word: np.uint64) -> np.uint64:
    mixed = (state ^ word) * _FACTOR
    return mixed ^ (mixed >> _HALF)
