"""Checks as a table, as Markdown and as JSON. Owns columns and words; runs nothing."""

from __future__ import annotations

import json
import platform
from collections.abc import Iterable, Sequence
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

from rich.box import SIMPLE_HEAD
from rich.console import RenderableType
from rich.table import Table

from hygro.atomic import writable_folder, write_text
from hygro.kinds import Kind, marked, refuse_other
from hygro.proof import figures
from hygro.proof.check import Check
from hygro.proof.run import Result
from hygro.show import drawn
from hygro.units import count

PACKAGES = ("hygro", "numpy", "scipy", "numba", "pvlib", "scikit-sundae")
COLUMNS = (
    "Case", "Quantity", "Ours", "Reference", "Error", "Bound", "Source", "Reference is", "",
)  # fmt: skip
_WRITTEN = "Written by `hygro validate --out DIR`."
WORDS = {"pass": "pass", "fail": "FAIL", "shown": "shown", "not run": "not run"}
CAUTIONS = (
    "A reference counts as published only where its value was read in a document or in a text that "
    "quotes it, and the row names it; whatever else is our own or remembered. The published tables "
    "of EN 15026 and the curves of the HAMSTAD exercises are not available; exercises 1, 3 and 4 "
    "use stand-ins for input that is not available either.",
    "A dash instead of what the reference is: the row holds one run of the engine against another "
    "and asks for a direction that a study states or that follows from a formula.",
    "'Shown' rows stand side by side and decide nothing; 'not run' rows do not count as passed.",
)


def checks_of(results: Iterable[Result]) -> list[Check]:
    """All checks in order."""
    return [check for result in results for check in result.checks]


def failed(results: Iterable[Result]) -> bool:
    """Whether any check failed."""
    return any(check.passed is False for check in checks_of(results))


def counts(results: Iterable[Result]) -> dict[str, int]:
    """Number of checks by status."""
    found = dict.fromkeys(WORDS, 0)
    for check in checks_of(results):
        found[check.status] += 1
    return found


def summary_line(results: Sequence[Result]) -> str:
    """One line of counts."""
    n = counts(results)
    return (
        f"{count(len(results), 'case')}: {n['pass']} checks passed, {n['fail']} failed, "
        f"{n['shown']} shown, {n['not run']} not run"
    )


def number(value: float | None, unit: str = "") -> str:
    """Six digits with unit; a dash where there is none."""
    if value is None or value != value:
        return "–"
    text = f"{value:.6g}"
    return f"{text} {unit}".strip() if unit not in ("", "1") else text


def cells(check: Check) -> tuple[str, ...]:
    """The columns of one check."""
    error = "–" if check.error is None else f"{check.error:.2g} {_unit(check.error_unit)}".strip()
    bound = "–" if check.bound is None else f"{check.bound:.3g} {_unit(check.error_unit)}".strip()
    return (
        check.case,
        check.quantity,
        number(check.ours, check.unit),
        number(check.reference, check.unit),
        error,
        bound,
        check.source,
        check.provenance or "–",
        WORDS[check.status],
    )


def _unit(unit: str) -> str:
    return "" if unit == "1" else unit


def table(results: Sequence[Result]) -> Table:
    """The one table of the command."""
    found = Table(box=SIMPLE_HEAD, pad_edge=False)
    for k, heading in enumerate(COLUMNS):
        found.add_column(heading, justify="right" if k in (2, 3, 4, 5) else "left", overflow="fold")
    last = ("",) * len(COLUMNS)
    for check in checks_of(results):
        row = cells(check)
        # case, source and provenance stand once where they do not change
        same = row[0] == last[0]
        told = [
            "" if k in (0, 6, 7) and same and text == last[k] else text
            for k, text in enumerate(row)
        ]
        found.add_row(*told, style="bold" if check.passed is False else None)
        last = row
    return found


def reasons(results: Sequence[Result]) -> list[str]:
    """A line for each check that failed or was not run."""
    lines = []
    for check in checks_of(results):
        if check.status in ("fail", "not run"):
            bound = f"; bound: {check.reason}" if check.reason else ""
            lines.append(
                f"{WORDS[check.status]}: {check.case}, {check.quantity}: {check.note}{bound}"
            )
    return lines


def pieces(results: Sequence[Result]) -> list[RenderableType]:
    """What the command prints: the table, what failed and why, the counts, the cautions."""
    cautions = [f"· {text}" for text in CAUTIONS]
    return [table(results), *reasons(results), summary_line(results), *cautions]


def versions() -> str:
    """Versions of what was run."""
    found = []
    for name in PACKAGES:
        try:
            found.append(f"{name} {version(name)}")
        except PackageNotFoundError:
            found.append(f"{name} not installed")
    return ", ".join([*found, f"Python {platform.python_version()}"])


def markdown(results: Sequence[Result]) -> str:
    """The table as a Markdown page, with the reason for each bound."""
    lines = ["# Validation", "", _WRITTEN, ""]
    lines += [f"{summary_line(results)}.", "", f"Versions: {versions()}.", ""]
    lines += [f"* {text}" for text in CAUTIONS]
    lines += ["", "| " + " | ".join((*COLUMNS[:-1], "Result", "Bound because; note")) + " |"]
    lines.append("|" + "---|" * (len(COLUMNS) + 1))
    for check in checks_of(results):
        words = "; ".join(x for x in (check.reason, check.note) if x)
        row = [cell.replace("|", "\\|") for cell in (*cells(check), words)]
        lines.append("| " + " | ".join(row) + " |")
    return "\n".join(lines) + "\n"


def to_json(results: Sequence[Result]) -> str:
    """All checks, counts, versions and times."""
    found = {
        "passed": not failed(results),
        "counts": counts(results),
        "versions": versions(),
        "seconds": {r.case.name: round(r.seconds, 1) for r in results},
        "checks": [check.to_dict() for check in checks_of(results)],
    }
    return json.dumps(found, indent=2, ensure_ascii=False, allow_nan=False)


def ready_folder(folder: Path) -> None:
    """Make the folder for `write`, before the checks run.

    Raises
    ------
    InputError
        It cannot be made or written, or has other files of these names.
    """
    for path, kind in _files(folder):
        refuse_other(path, kind)
    writable_folder(folder)


def _files(folder: Path) -> tuple[tuple[Path, Kind], tuple[Path, Kind]]:
    """Page and data, and what each may replace."""
    words = "a list of checks of this program"
    page, data = folder / "validation.md", folder / "validation.json"
    return (page, marked(words, _WRITTEN)), (data, marked(words, '"versions": "hygro '))


def write(results: Sequence[Result], folder: Path) -> tuple[Path, ...]:
    """Write validation.md, validation.json and one PNG for each picture; returns the paths.

    Raises
    ------
    InputError
        A file cannot be written, or another is there.
    """
    (page, of_page), (data, of_data) = _files(folder)
    write_text(page, markdown(results), of_page)
    write_text(data, to_json(results) + "\n", of_data)
    paths = []
    for result in results:
        for picture in result.pictures:
            path = folder / f"{picture.name}.png"
            drawn.write(figures.draw(picture), path)
            paths.append(path)
    return (page, data, *paths)
