"""Tries the tests with deliberate errors: `python -m tests.mutate [--area AREA] [--only WORD ...]`.

Every error (`tests/mutations/*.toml`) is made alone in a copy of the project, where the tests that
are to notice it run. First they run without any error: a test that fails or is skipped anyway
notices nothing. Prints what no test noticed, and a table of counts.
"""

from __future__ import annotations

import argparse
import math
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from tests.mutations.copied import FAILED, GREEN, TOO_LONG
from tests.mutations.jobs import Kept, Task, Workers
from tests.mutations.read import Mutation, mutations

OUTCOMES = ("noticed", "survived", "argued", "not tried")


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the tool; 1 where an error survived that is not argued, 2 where one was not tried."""
    asked = _parser().parse_args(arguments)
    chosen = [
        m for m in mutations()
        if asked.area in ("", m.area) and any(word in f"{m.file} {m.why}" for word in asked.only)
        and not (m.slow and asked.no_compile)
    ]  # fmt: skip
    problems = [text for m in chosen for text in m.problems()]
    if problems or not chosen:
        print("\n".join(problems) or "no such mutation", file=sys.stderr)
        return 2
    if asked.list:
        print("\n".join(f"{m.area}: {m.why} [{m.file}]" for m in chosen))
        return 0
    if asked.keep:
        return tried(chosen, Path(asked.keep).resolve(), asked)
    with tempfile.TemporaryDirectory(prefix="mutations-") as folder:
        return tried(chosen, Path(folder), asked)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="python -m tests.mutate", description=__doc__)
    parser.add_argument("--area", default="", help="only this file of mutations, such as loads")
    parser.add_argument("--only", nargs="+", default=[""], metavar="WORD",
                        help="only where path or reason hold one of these")  # fmt: skip
    parser.add_argument("--list", action="store_true", help="print them, try none")
    parser.add_argument("--keep", default="", help="folder of the copies, kept with compiled code")
    parser.add_argument("--no-compile", action="store_true", help="leave out what compiles kernels")
    parser.add_argument("--seconds", type=float, default=900.0, help="longest run of one error")
    parser.add_argument("--jobs", type=int, default=1, help="so many side by side")
    parser.add_argument("--results", type=Path, help="file of results, with which a pass goes on")
    parser.add_argument("--stop-after", type=float, default=math.inf, metavar="SECONDS",
                        help="begin nothing more after this time")  # fmt: skip
    return parser


def tried(chosen: Sequence[Mutation], folder: Path, asked: argparse.Namespace) -> int:
    """Try the errors in copies below a folder; see `main`."""
    end = time.monotonic() + asked.stop_after
    counts: Counter[tuple[str, str]] = Counter()
    kept = Kept(asked.results)
    workers = Workers(asked.jobs, folder)
    try:
        useless = _useless(chosen, workers, kept, end)
        tasks, idle = [], []
        for m in chosen:
            tests = tuple(t for t in m.tests if (t, m.interpreted) not in useless)
            tasks.append(Task(tests, m.interpreted, replace(m, tests=tests)))
            if not tests:
                idle.append(tasks.pop())
        # those that compile take longest and go first
        tasks.sort(key=lambda task: not task.mutation.slow)  # type: ignore[union-attr]
        for task, result in workers.run(tasks, kept, seconds=asked.seconds, end=end):
            outcome = _outcome(task.mutation, result.code)  # type: ignore[arg-type]
            _tell(task, outcome, result.seconds, counts)
            if outcome == "not tried":
                print(f"pytest ended with {result.code}:\n{result.tail}", file=sys.stderr)
    finally:
        workers.close()
    for task in idle:
        _tell(task, "not tried", 0.0, counts)
    print("\n" + table(counts))
    left = len(chosen) - counts.total()
    if left:
        print(f"{left} are left; the same command goes on with them")
    if left or any(outcome == "not tried" for _, outcome in counts):
        return 2
    return int(any(outcome == "survived" for _, outcome in counts))


def _useless(
    chosen: Sequence[Mutation], workers: Workers, kept: Kept, end: float
) -> set[tuple[str, bool]]:
    """Tests that fail or are skipped without any error, by name and whether interpreted."""
    names = {(t, m.interpreted): m.slow for m in chosen for t in m.tests}
    # tests of the errors that compile take longest
    order = sorted(names, key=lambda key: (not names[key], key[1], key[0]))
    tasks = [Task((test,), interpreted) for test, interpreted in order]
    found = set()
    for task, result in workers.run(tasks, kept, seconds=3600.0, end=end):
        print(f"no error {result.seconds:6.1f} s  {task.tests[0]}", flush=True)
        if result.code != GREEN:
            print(f"without any error {task.tests[0]} ends with {result.code}:\n{result.tail}",
                  file=sys.stderr)  # fmt: skip
            found.add((task.tests[0], task.interpreted))
    return found


def _outcome(mutation: Mutation, code: int) -> str:
    if code in (FAILED, TOO_LONG):
        return "noticed"
    if code == GREEN:
        return "argued" if mutation.argued else "survived"
    return "not tried"


def _tell(task: Task, outcome: str, seconds: float, counts: Counter[tuple[str, str]]) -> None:
    mutation = task.mutation
    assert mutation is not None
    counts[mutation.area, outcome] += 1
    print(f"{outcome:9}{seconds:6.1f} s  {mutation.area}: {mutation.why}", flush=True)


def table(counts: Counter[tuple[str, str]]) -> str:
    """Counts by area and in all, as a Markdown table; what was not tried only where there is some.

    The columns are those of `OUTCOMES`.
    """
    areas = sorted({area for area, _ in counts})
    shown = [o for o in OUTCOMES if o != "not tried" or any(counts[a, o] for a in areas)]
    rows = [[area, *(counts[area, o] for o in shown)] for area in areas]
    rows.append(["all", *(sum(counts[a, o] for a in areas) for o in shown)])
    lines = ["| area | tried | " + " | ".join(shown) + " |", "|---|" + "---:|" * (len(shown) + 1)]
    lines += [f"| {a} | {sum(n[:3])} | {' | '.join(map(str, n))} |" for a, *n in rows]
    return "\n".join(lines)


if __name__ == "__main__":
    sys.exit(main())
