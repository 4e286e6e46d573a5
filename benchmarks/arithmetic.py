"""Counts the floating-point operations of a run: uncompiled kernels on numbers that count.

Run with NUMBA_DISABLE_JIT=1. Additions, multiplications and divisions are counted where at least
one number is a state of the march; comparisons, and constants among themselves, are not.
"""

from __future__ import annotations

import json
from collections import Counter
from typing import Any

import numpy as np

from hygro.proof.trials import trials
from hygro.solve import turn
from hygro.solve.kernels.arrays import State, Work
from hygro.solve.lanes import LaneArray
from hygro.solve.march import run
from hygro.wall.loads import loads_between

COUNT: Counter[str] = Counter()


class Counting(float):
    """A float whose arithmetic is counted."""


def _counting(name: str, kind: str) -> Any:
    plain = getattr(float, name)

    def operation(self: float, *other: object) -> Any:
        COUNT[kind] += 1
        value = plain(self, *other)
        return Counting(value) if isinstance(value, float) else value

    return operation


for _name, _kind in (
    ("add", "additions"), ("sub", "additions"), ("mul", "multiplications"),
    ("truediv", "divisions"), ("pow", "multiplications"),
):  # fmt: skip
    for _side in ("", "r"):
        _method = f"__{_side}{_name}__"
        setattr(Counting, _method, _counting(_method, _kind))


def counting_array(array: np.ndarray) -> np.ndarray:
    """The same numbers as objects that count."""
    if array.dtype.kind != "f":
        return array
    found = np.empty(array.shape, dtype=object)
    for index, value in np.ndenumerate(array):
        found[index] = Counting(value)
    return found


def counting(value: object) -> Any:
    """An array, in lanes or not, or a tuple of arrays on counting numbers."""
    if isinstance(value, LaneArray):
        return LaneArray(counting_array(value.array))
    if isinstance(value, np.ndarray):
        return counting_array(value)
    if isinstance(value, tuple):
        return type(value)(*(counting(item) for item in value))
    return value


def counted_march(pb: object, ld: object, st: State, work: Work, *rest: object) -> None:
    """The march of the kernels on counting numbers; what it leaves goes back as plain numbers."""
    inside, at = counting(st), counting(work)
    MARCH(counting(pb), counting(ld), inside, at, *rest)
    for plain, made in zip((*st, work.at), (*inside, at.at), strict=True):
        plain.array[...] = made.array.astype(float)


MARCH = turn.march


def main() -> None:
    """Print operations per cell and Newton iteration as JSON."""
    trial = trials(48)["framed"]
    loads = loads_between(trial.loads, 0, 6)
    turn.march = counted_march
    got = run(trial.wall, loads)
    steps = got.T.shape[1] * got.counters["evaluations"]
    per = {kind: count / steps for kind, count in sorted(COUNT.items())}
    print(json.dumps({"operations": sum(per.values()), **per}))


if __name__ == "__main__":
    main()
