"""From stores of studies to what a page shows of them. Reads stores, changes none, runs nothing."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from hygro.decide.engine import engine_hash
from hygro.decide.finding import Finding, findings, remember_points
from hygro.decide.store import Kept, Status, Store
from hygro.decide.study import Study
from hygro.errors import InputError

MAGIC = b"SQLite format 3\x00"
"""Beginning of a store."""


@dataclass(frozen=True)
class ShownStudy:
    """A study of a page.

    Attributes
    ----------
    name : str
        By which the store knows it.
    finding : Finding
        What a command found.
    status : Status
        Of its runs now.
    stale : tuple of str
        Why what was found is not of today, in sentences.
    made : float
        When it was found, since 1970. [s]
    """

    name: str
    finding: Finding
    status: Status
    stale: tuple[str, ...]
    made: float


def is_store(path: Path) -> bool:
    """Whether a file is a store of studies, by its first bytes."""
    try:
        with path.open("rb") as file:
            return file.read(len(MAGIC)) == MAGIC
    except OSError:
        return False


def studies_of(sources: Iterable[Study | str | Path]) -> tuple[ShownStudy, ...]:
    """Return what was found of the studies in some stores.

    Parameters
    ----------
    sources : iterable of Study or path
        Studies made in Python, or files of stores.

    Raises
    ------
    InputError
        No such file, no store, or nothing was found yet of its studies.
    """
    return tuple(shown for source in sources for shown in _read(source))


def _read(source: Study | str | Path) -> list[ShownStudy]:
    if isinstance(source, Study):
        if source.name not in {row.study for row in source.store.findings()}:
            remember_points(source)
        return [shown for shown in _shown(source.store) if shown.name == source.name]
    path = Path(source)
    if not path.is_file():
        raise InputError(f"{path}: no such file")
    if not is_store(path):
        raise InputError(f"{path}: is not a store of studies; is it another file, or damaged?")
    with Store(path, read_only=True) as store:
        found = _shown(store)
    if not found:
        raise InputError(
            f"{path}: nothing was found of its studies yet; let `hygro map`, `least`, `limit`, "
            "`sample`, `years` or `study run` end"
        )
    return found


def _shown(store: Store) -> list[ShownStudy]:
    return [
        ShownStudy(
            row.study,
            found,
            store.status(row.study),
            tuple(_stale(row, found)),
            row.made,
        )
        for row, found in findings(store)
    ]


def _stale(row: Kept, found: Finding) -> list[str]:
    """Why a finding is not of today."""
    told = []
    about = found.about
    declared_anew = not about.declared_sha256 or about.declared_sha256 != row.declared_sha256
    if about.plan_sha256 != row.plan_sha256 and declared_anew:
        told.append(
            "The study was planned anew after this was found: case, weather or what varies has "
            "changed; give the command again."
        )
    if about.engine_sha256 != engine_hash():
        told.append(
            "It was computed by another engine than the one that wrote this page; give the command "
            "again to compare with runs of today."
        )
    return told
