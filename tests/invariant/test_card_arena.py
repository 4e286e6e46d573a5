"""Memory that processes share: slabs lie apart, are waited for, and are free once read."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
from pathlib import Path

import numpy as np
import pytest

from hygro.solve.card.arena import Arena, arrays_at

pytestmark = pytest.mark.skipif(not hasattr(os, "memfd_create"), reason="Linux only")
ONE = {"T": (2, 3, 4), "w": (2, 5)}
SIZE = 8 * (24 + 10)


def test_another_process_reads_what_lies_at_a_place() -> None:
    arena = Arena(1 << 16)
    arena.room(ONE)
    room = arena.room(ONE)
    room["T"][...], room["w"][...] = np.arange(24.0).reshape(2, 3, 4), 7.0
    place = arena.place_of({"T": room["T"][1], "w": room["w"][1]})
    code = (
        "import sys; from hygro.solve.card.arena import Place, arrays_at;"
        f"x = arrays_at({place!r}); print(x['T'].sum(), x['T'].shape, x['w'].tolist())"
    )
    env = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])}
    told = subprocess.run([sys.executable, "-c", code], env=env, capture_output=True, text=True)
    # 12 + ... + 23 = 12 x 17.5
    assert told.stdout.split("\n")[0] == "210.0 (3, 4) [7.0, 7.0, 7.0, 7.0, 7.0]"
    assert arrays_at(place)["w"].flags.writeable is False


def test_slabs_lie_apart_and_are_waited_for() -> None:
    """Two fit; a third is there when both parts of the first were read, and not before."""
    arena = Arena(2 * (SIZE + 64))
    first, second = arena.room(ONE), arena.room(ONE)
    second["T"][...] = 1.0
    first["T"][...], first["w"][...] = 2.0, 2.0
    assert (second["T"] == 1.0).all()
    got = list[dict[str, np.ndarray]]()
    waits = threading.Thread(target=lambda: got.append(arena.room(ONE)), daemon=True)
    waits.start()
    arena.expect(first, 2)
    parts = [arena.place_of({name: x[k] for name, x in first.items()}) for k in (0, 1)]
    arena.was_read(parts[1])
    waits.join(0.2)
    assert waits.is_alive()
    arena.was_read(parts[0])
    waits.join(10.0)
    assert got[0]["T"].ctypes.data == first["T"].ctypes.data
    assert (second["T"] == 1.0).all()


def test_a_slab_of_which_nothing_will_be_read_is_free_at_once() -> None:
    arena = Arena(SIZE + 64)
    for _ in range(3):
        arena.expect(arena.room(ONE), 0)


def test_more_than_all_of_it_is_refused() -> None:
    with pytest.raises(MemoryError, match="must be at most 64"):
        Arena(64).room(ONE)
