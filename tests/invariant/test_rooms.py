"""Memory for results is used again, but never while something lies in it."""

from __future__ import annotations

import pickle

import numpy as np
from feature_walls import features
from random_walls import random_loads

from hygro.solve.ensemble import run_many
from hygro.solve.march import run
from hygro.solve.rooms import Rooms


def test_a_block_is_given_again_when_the_last_array_in_it_has_ended() -> None:
    rooms = Rooms()
    first = rooms.room(1000)
    place, part = first.ctypes.data, np.split(first, [400])[1]
    del first
    assert rooms.room(1000).ctypes.data != place  # a part still lies in it
    del part
    assert rooms.room(1000).ctypes.data == place


def test_a_block_serves_what_needs_half_of_it_and_not_less() -> None:
    rooms = Rooms()
    block = rooms.room(1000)
    place = block.ctypes.data
    del block
    half = rooms.room(500)
    assert (half.ctypes.data, half.shape, half.flags.writeable) == (place, (500,), True)
    del half
    small = rooms.room(499)
    assert small.ctypes.data != place
    assert not rooms._free  # the large block was let go
    del small
    assert rooms.room(500).shape == (500,)


def test_a_copy_starts_without_memory() -> None:
    rooms = Rooms()
    rooms.room(10)
    assert rooms._free
    assert not pickle.loads(pickle.dumps(rooms))._free


def test_runs_that_take_the_room_of_others_have_the_bits_of_fresh_ones() -> None:
    """One of the first is kept, and stays as it was."""
    wall = next(iter(features().values())).wall
    rooms, kept = Rooms(), []
    for turn in range(3):
        loads = [random_loads(wall, 10 * turn + k, 400) for k in range(5)]
        for k, found in run_many([(wall, x) for x in loads], memory=rooms.room):
            fresh = run(wall, loads[k])
            assert all(np.array_equal(getattr(found, n), getattr(fresh, n)) for n in ("T", "rh"))
            if turn == 0 and k == 2:
                kept.append((found, fresh))
        del found
        assert rooms._free
    ((found, fresh),) = kept
    assert np.array_equal(found.T, fresh.T)
    assert np.array_equal(found.interface_p, fresh.interface_p)
