"""Tries the tests with deliberate errors: `python -m tests.mutate [--area AREA] [--only WORD ...]`.

Every error (`tests/mutations/*.toml`) is made alone in a copy of the project, where the tests that
are to notice it run. First they run without any error: a test that fails anyway notices nothing.
Prints what no test noticed, and a table of counts.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Sequence
from pathlib import Path

from tests.mutations.copied import FAILED, GREEN, TOO_LONG, applied, copy, prepare, tested
from tests.mutations.read import Mutation, mutations

OUTCOMES = ("noticed", "survived", "argued")


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the tool; 1 where an error survived that is not argued, 2 where it cannot be tried."""
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
    parser.add_argument("--keep", default="", help="folder of the copy, kept with compiled code")
    parser.add_argument("--no-compile", action="store_true", help="leave out what compiles kernels")
    parser.add_argument("--seconds", type=float, default=900.0, help="longest run of one error")
    return parser


def tried(chosen: Sequence[Mutation], folder: Path, asked: argparse.Namespace) -> int:
    """Try the errors one after another in a copy; see `main`."""
    prepare(copy(folder))
    log = folder / "last.log"
    for interpreted in (False, True):
        names = sorted({t for m in chosen if m.interpreted is interpreted for t in m.tests})
        if names and tested(names, interpreted=interpreted, seconds=3600.0, log=log) != GREEN:
            print(f"the tests fail without any error:\n{_tail(log)}", file=sys.stderr)
            return 2
    counts: Counter[tuple[str, str]] = Counter()
    for turn, mutation in enumerate(chosen):
        begin = time.monotonic()
        with applied(mutation, turn):
            code = tested(
                mutation.tests, interpreted=mutation.interpreted, seconds=asked.seconds, log=log
            )
        if code not in (GREEN, FAILED, TOO_LONG):
            print(f"{mutation.why}: pytest ended with {code}:\n{_tail(log)}", file=sys.stderr)
            return 2
        survived = "argued" if mutation.argued else "survived"
        outcome = survived if code == GREEN else "noticed"
        counts[mutation.area, outcome] += 1
        took = time.monotonic() - begin
        print(f"{outcome:9}{took:6.1f} s  {mutation.area}: {mutation.why}", flush=True)
    print("\n" + table(counts))
    return int(any(outcome == "survived" for _, outcome in counts))


def table(counts: Counter[tuple[str, str]]) -> str:
    """Counts by area and in all, as a Markdown table."""
    areas = sorted({area for area, _ in counts})
    rows = [[area, *(counts[area, o] for o in OUTCOMES)] for area in areas]
    rows.append(["all", *(sum(counts[a, o] for a in areas) for o in OUTCOMES)])
    lines = ["| area | tried | " + " | ".join(OUTCOMES) + " |", "|---|" + "---:|" * 4]
    lines += [f"| {a} | {sum(n)} | {' | '.join(map(str, n))} |" for a, *n in rows]
    return "\n".join(lines)


def _tail(log: Path) -> str:
    return "\n".join(log.read_text(encoding="utf-8", errors="replace").splitlines()[-25:])


if __name__ == "__main__":
    sys.exit(main())
