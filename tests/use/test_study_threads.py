"""Tasks in threads: results in order; when one ends with an error, the others end too."""

from __future__ import annotations

import threading
import time

import pytest

from hygro.study.processes import in_threads


def test_results_come_in_the_order_of_the_items() -> None:
    told: list[tuple[int, float, str]] = []

    def task(shared: int, number: int, item: int, tell: object) -> int:
        time.sleep(0.02 * (3 - number))
        tell(number, 1.0, "done")
        return shared * item

    found = in_threads(task, 10, [1, 2, 3], progress=lambda *x: told.append(x))
    assert found == (10, 20, 30)
    assert sorted(told) == [(0, 1.0, "done"), (1, 1.0, "done"), (2, 1.0, "done")]


@pytest.mark.parametrize("error", [ValueError, KeyboardInterrupt])
def test_an_error_ends_the_tasks_that_still_run(error: type[BaseException]) -> None:
    ended = threading.Event()

    def task(_: None, number: int, item: bool, tell: object) -> None:
        if item:
            raise error("this one fails")
        try:
            for _step in range(1000):
                tell(number, 0.0, "")
                time.sleep(0.01)
        finally:
            ended.set()
        raise AssertionError("was not stopped")

    with pytest.raises(error):
        in_threads(task, None, [False, True], progress=None)
    assert ended.is_set()
