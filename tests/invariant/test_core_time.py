"""The time that cores spend on runs counts the threads that march."""

from __future__ import annotations

import time

from feature_walls import features

from hygro.solve.cores import core_time
from hygro.solve.ensemble import run_many


def test_the_threads_that_march_count_for_who_waits() -> None:
    wall, loads = features()["open gap"]
    runs = [(wall, loads)] * 3
    for threads in (1, 2):
        own, all_of_them, process = time.thread_time(), core_time(), time.process_time()
        assert len(list(run_many(runs, threads=threads))) == len(runs)
        marched = (core_time() - all_of_them) - (time.thread_time() - own)
        assert 0.0 < marched <= time.process_time() - process
