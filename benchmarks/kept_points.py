"""Points of a benchmark kept as they come, so that a stopped one goes on where it was.

A file for each wall and each state of what is measured: sources, versions, machine, options.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

from benchmarks.common import FOLDER, machine
from hygro.errors import SolveError
from hygro.proof.report import versions

ROOT = Path(__file__).parents[1]
SEEN = ("hygro/solve/**/*.py", "hygro/proof/trials.py", "benchmarks/*.py", "benchmarks/*.c")


def state(*options: object) -> str:
    """Hash of all that a point depends on."""
    found = hashlib.sha256(repr((machine(), versions(), options)).encode())
    for path in sorted(p for pattern in SEEN for p in ROOT.glob(pattern)):
        found.update(path.name.encode() + b"\0" + path.read_bytes())
    return found.hexdigest()[:12]


class KeptPoints:
    """What is known of a wall in a state; a point that ended with an error is known as None."""

    def __init__(self, name: str, wall: str, stamp: str) -> None:
        slug = re.sub(r"\W+", "-", wall)
        self._file = FOLDER / name / f"{stamp}-{slug}.jsonl"
        self._file.parent.mkdir(parents=True, exist_ok=True)
        self._known: dict[str, Any] = {}
        if self._file.is_file():
            for line in self._file.read_text(encoding="utf-8").splitlines():
                key, row = json.loads(line)
                self._known[key] = row

    def of(self, key: str, make: Callable[[], Any]) -> Any:
        """Row of a key, measured where it is not known."""
        if key not in self._known:
            try:
                self._known[key] = make()
            except SolveError as error:
                print(f"{key}: {error}")
                self._known[key] = None
            with self._file.open("a", encoding="utf-8") as file:
                file.write(json.dumps([key, self._known[key]]) + "\n")
        return self._known[key]
