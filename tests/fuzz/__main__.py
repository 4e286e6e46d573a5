"""Random walls, files and interruptions: `python -m tests.fuzz --walls 10000 --files 5000`.

Everything that is drawn follows from seed, kind and number: `--only "wall 17"` tries one item
again. What is done is kept beside the results; the same command goes on where it was stopped. Ends
with 1 where something does not hold. Takes no network, and no package but what hygro needs.
"""

from __future__ import annotations

import argparse
import json
import platform
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from tests.fuzz.counts import counted, table
from tests.fuzz.items import FILES, KINDS
from tests.fuzz.pool import tried

Told = dict[str, Any]
ROOT = Path(__file__).parents[2]
PAGE, KEPT = ROOT / "docs/reliability.md", Path(__file__).with_name("last_run.json")
MARKS = ("<!-- counts of tests.fuzz -->", "<!-- end of counts -->")
SAID = 10.0
"""Time between two lines of progress. [s]"""


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the tool; 1 where something does not hold, 2 where it cannot be run."""
    asked = _parser().parse_args(arguments)
    if asked.counts:
        return _to_page(Path(asked.counts))
    wanted = _wanted(asked)
    about = _about(asked.seed)
    kept = Path(asked.out).with_suffix(".lines")
    outcomes = [] if asked.only else _kept(kept, about)
    if outcomes is None:
        print(f"{kept} is of another seed or version; move it away", file=sys.stderr)
        return 2
    known = {(x["kind"], x["number"]) for x in outcomes}
    left = [item for item in wanted if item not in known]
    outcomes = [x for x in outcomes if (x["kind"], x["number"]) in set(wanted)]
    with tempfile.TemporaryDirectory(prefix="fuzz-sound-") as sound:
        for told in _shown(tried(left, asked.seed, asked.jobs, Path(sound)), len(left)):
            outcomes.append(told)
            if not asked.only:
                with kept.open("a", encoding="utf-8") as lines:
                    lines.write(json.dumps(told) + "\n")
    if asked.only:
        print(json.dumps(outcomes, indent=1))
        return int(any(x["faults"] for x in outcomes))
    found = counted(outcomes, about)
    Path(asked.out).write_text(json.dumps(found, indent=1) + "\n", encoding="utf-8")
    print(table(found), *found["faults"], f"accepted: {found['accepted']}", sep="\n")
    return int(not found["accepted"])


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz", description=__doc__)
    parser.add_argument("--walls", type=int, default=1000)
    parser.add_argument("--files", type=int, default=1500)
    for kind in ("kills", "pairs", "signals"):
        parser.add_argument(f"--{kind}", type=int, default=20)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--jobs", type=int, default=1, help="processes at a time")
    parser.add_argument("--out", default="fuzz-results.json", help="counts; lines beside it")
    parser.add_argument("--counts", default="", help="write such counts into the page, run nothing")
    parser.add_argument("--only", action="append", default=[], metavar='"KIND NUMBER"')
    return parser


def _to_page(counts: Path) -> int:
    """Keep the counts beside the tool, and put them between the marks of the page."""
    text = counts.read_text(encoding="utf-8")
    KEPT.write_text(text, encoding="utf-8")
    before, rest = PAGE.read_text(encoding="utf-8").split(MARKS[0])
    after = rest.split(MARKS[1])[1]
    PAGE.write_text(f"{before}{on_page(json.loads(text))}{after}", encoding="utf-8")
    return 0


def on_page(found: Told) -> str:
    """The counts as they stand on the page, between marks."""
    about = f"Python {found['python']}, numba {found['numba']}"
    return f"{MARKS[0]}\nSeed {found['seed']}, {about}:\n\n{table(found)}\n{MARKS[1]}"


def _wanted(asked: argparse.Namespace) -> list[tuple[str, int]]:
    if asked.only:
        found = [(kind, int(number)) for kind, number in map(str.split, asked.only)]
        assert all(kind in KINDS for kind, _ in found), f"kinds are {', '.join(KINDS)}"
        return found
    counts = {"wall": asked.walls, **{k: round(s * asked.files) for k, s in FILES.items()}}
    counts |= {"kill": asked.kills, "pair": asked.pairs, "signal": asked.signals}
    return [(kind, k) for kind, count in counts.items() for k in range(count)]


def _about(seed: int) -> Told:
    from importlib.metadata import version

    from hygro.decide.engine import engine_hash

    found = {name: version(name) for name in ("numpy", "numba", "xarray", "netCDF4", "pydantic")}
    return {
        "seed": seed, "engine": engine_hash()[:16], "python": platform.python_version(), **found
    }  # fmt: skip


def _kept(file: Path, about: Told) -> list[Told] | None:
    """What an earlier run of the same seed and code did; None where it was of another."""
    if not file.exists():
        file.write_text(json.dumps(about) + "\n", encoding="utf-8")
        return []
    first, *rest = file.read_text(encoding="utf-8").splitlines()
    if json.loads(first) != about:
        return None
    whole = [line for line in rest if line.endswith("}")]  # the last one may be cut off
    file.write_text("\n".join([first, *whole]) + "\n", encoding="utf-8")
    return [json.loads(line) for line in whole]


def _shown(outcomes: Any, total: int) -> Any:
    """Pass outcomes on, with faults as they come and progress now and then."""
    began = said = time.monotonic()
    faulty = stopped = 0
    for k, told in enumerate(outcomes, 1):
        faulty += bool(told["faults"])
        stopped += bool(told.get("stopped"))
        for fault in told["faults"]:
            print(f"{told['kind']} {told['number']}: {fault[:300]}", file=sys.stderr, flush=True)
        if time.monotonic() - said > SAID or k == total:
            said = time.monotonic()
            left = (said - began) / k * (total - k)
            print(f"{k} of {total}, {faulty} faulty, {stopped} walls stopped, {left:.0f} s left",
                  file=sys.stderr, flush=True)  # fmt: skip
        yield told


if __name__ == "__main__":
    sys.exit(main())
