"""Errors and tests tried side by side, each worker in a copy of its own; what is known is kept.

A worker is a fork that has the libraries imported. Results go to a file, a line each, as they come:
a pass that is stopped goes on where it was, as long as sources, tests and error are the same.
"""

from __future__ import annotations

import hashlib
import json
import multiprocessing
import os
import time
from collections.abc import Iterable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from dataclasses import dataclass
from itertools import count
from pathlib import Path
from typing import Any, NamedTuple

from tests.mutations.copied import (
    FAILED,
    GREEN,
    applied,
    copy,
    digest,
    import_libraries,
    stand_in,
    tested,
)
from tests.mutations.read import Mutation

_TURNS = count()
"""Of the copy of this worker."""


@dataclass(frozen=True)
class Task:
    """Tests to run: without any error, or with one made."""

    tests: tuple[str, ...]
    interpreted: bool
    mutation: Mutation | None = None


class Result(NamedTuple):
    """Exit code of pytest (see `tested`), seconds, the end of what it wrote where that is odd."""

    code: int
    seconds: float
    tail: str


def done(task: Task, seconds: float) -> Result:
    """Run a task in the copy of this worker."""
    begin, log = time.monotonic(), Path("last.log").resolve()
    options: Any = {"interpreted": task.interpreted, "seconds": seconds, "log": log}
    if task.mutation is None:
        code = tested(task.tests, **options)
    else:
        with applied(task.mutation, next(_TURNS)):
            code = tested(task.tests, **options)
    expected = GREEN if task.mutation is None else FAILED
    told = log.read_text(encoding="utf-8", errors="replace").splitlines()[-25:]
    return Result(code, time.monotonic() - begin, "" if code == expected else "\n".join(told))


def _begin(folder: Path, numbers: Any) -> None:
    stand_in(copy(folder / str(numbers.get())))


class Kept:
    """Results by task, of this state of the project; read from and added to a file."""

    def __init__(self, file: Path | None) -> None:
        self._file, self._state = file, digest()
        self._known: dict[str, Result] = {}
        if file is not None and file.is_file():
            for line in file.read_text(encoding="utf-8").splitlines():
                row = json.loads(line)
                self._known[row["key"]] = Result(row["code"], row["seconds"], row["tail"])

    def of(self, task: Task) -> Result | None:
        """What is known of a task."""
        return self._known.get(self._key(task))

    def add(self, task: Task, result: Result) -> None:
        """Keep a result."""
        self._known[self._key(task)] = result
        if self._file is not None:
            row = {"key": self._key(task), "task": _named(task), **result._asdict()}
            with self._file.open("a", encoding="utf-8") as file:
                file.write(json.dumps(row, ensure_ascii=False) + "\n")

    def _key(self, task: Task) -> str:
        return hashlib.sha256(f"{self._state} {task!r}".encode()).hexdigest()[:24]


def _named(task: Task) -> str:
    return task.mutation.why if task.mutation else " ".join(task.tests)


class Workers:
    """Processes, each in a copy of the project below a folder."""

    def __init__(self, number: int, folder: Path) -> None:
        # the libraries of linear algebra would start as many threads in each
        os.environ |= {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}
        import_libraries()
        forked = multiprocessing.get_context("fork")
        numbers = forked.SimpleQueue()
        for k in range(number):
            numbers.put(k)
        self._number = number
        self._pool = ProcessPoolExecutor(
            number, mp_context=forked, initializer=_begin, initargs=(folder, numbers)
        )

    def run(
        self, tasks: Iterable[Task], kept: Kept, *, seconds: float, end: float
    ) -> Iterator[tuple[Task, Result]]:
        """Results as they come, known ones first; after the moment `end` nothing more is begun."""
        todo = []
        for task in tasks:
            known = kept.of(task)
            if known is None:
                todo.append(task)
            else:
                yield task, known
        waiting, running = iter(todo), dict[Future[Result], Task]()
        while True:
            while len(running) < self._number and time.monotonic() < end:
                task = next(waiting, None)  # type: ignore[arg-type]
                if task is None:
                    break
                running[self._pool.submit(done, task, seconds)] = task
            if not running:
                return
            for future in wait(running, return_when=FIRST_COMPLETED).done:
                task, result = running.pop(future), future.result()
                kept.add(task, result)
                yield task, result

    def close(self) -> None:
        """Let them end."""
        self._pool.shutdown(cancel_futures=True)
