"""The deliberate errors of the TOML files beside this one. Owns their form; runs nothing.

A file holds groups: `file` and `tests` of a group hold for its `mutations`, each with the `why`
that names it, `text` and `replacement`. A mutation may name `tests` of its own. `interpreted` runs
the kernels without compiling them: for tests of few hours. `argued` says why no test can notice it.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

HERE = Path(__file__).parent
ROOT = HERE.parents[1]
COMPILED = "hygro/solve/"
"""A change of a file in this folder compiles the kernels anew."""
_GROUP = {"file", "tests", "mutations", "interpreted"}
_MUTATION = {"why", "text", "replacement", "tests", "interpreted", "argued"}


@dataclass(frozen=True)
class Mutation:
    """One deliberate error and the tests that are to notice it."""

    area: str
    why: str
    file: str
    text: str
    replacement: str
    tests: tuple[str, ...]
    interpreted: bool = False
    argued: str = ""

    @property
    def slow(self) -> bool:
        """Whether the kernels must be compiled for it."""
        return self.file.startswith(COMPILED) and not self.interpreted

    def problems(self, root: Path = ROOT) -> list[str]:
        """What keeps it from being tried: text not found once, no such test."""
        found = (root / self.file).read_text(encoding="utf-8").count(self.text)
        faults = [] if found == 1 else [f"text found {found} times in {self.file}, must be once"]
        if self.text == self.replacement:
            faults.append("replacement is the text")
        faults += [f"no test {test}" for test in self.tests if not _exists(test, root)]
        return [f"{self.area}: {self.why}: {fault}" for fault in faults]


def mutations(folder: Path = HERE) -> tuple[Mutation, ...]:
    """All mutations, area by area, those that compile the kernels last."""
    found = [m for path in sorted(folder.glob("*.toml")) for m in _of_file(path)]
    return tuple(sorted(found, key=lambda m: m.slow))


def _of_file(path: Path) -> Iterable[Mutation]:
    for group in tomllib.loads(path.read_text(encoding="utf-8"))["group"]:
        _known(path, group, _GROUP)
        for row in group["mutations"]:
            _known(path, row, _MUTATION)
            given = {"tests": group.get("tests", []), **row}
            given["tests"] = tuple(given["tests"])
            given.setdefault("interpreted", group.get("interpreted", False))
            yield Mutation(area=path.stem, file=group["file"], **given)


def _known(path: Path, table: dict[str, object], keys: set[str]) -> None:
    if unknown := set(table) - keys:
        raise ValueError(f"{path.name}: unknown keys {sorted(unknown)} in {table}")


def _exists(test: str, root: Path) -> bool:
    file, _, name = test.partition("::")
    if not (root / file).is_file():
        return False
    source = (root / file).read_text(encoding="utf-8")
    return not name or re.search(rf"^def {re.escape(name)}\(", source, re.MULTILINE) is not None
