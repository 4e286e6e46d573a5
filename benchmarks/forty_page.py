"""The page of forty walls as Markdown. Owns its words and columns; runs nothing."""

from __future__ import annotations

from collections.abc import Sequence
from importlib.metadata import version
from typing import TYPE_CHECKING

from hygro.assess.verdict import deciding_words

if TYPE_CHECKING:
    from benchmarks.forty_walls import Judged

HEAD = """# Forty walls

What a practitioner expects of a wall, why, and what this engine finds. Expectations were written
down from the sources, most before the engine was asked (those that were not stand in
`cases/forty_walls/SOURCE.md`); where it finds otherwise the row says so, and the list of
contradictions stands first. A contradiction is no proof of who is right: most findings are known
from an abstract, with our layers, rooms and weather in the place of theirs. Typical and
generated years are average years. A comparative aid, no proof of compliance.

Made by `python -m benchmarks.forty_walls --write` ({versions});
walls, rooms, places and sources in `cases/forty_walls/`. Each wall is judged tight and with its
leaks one by one; the worst decides.
"""


def page(found: Sequence[Judged]) -> str:
    """The whole page."""
    asked = [check for item in found for check in item.checks]
    met = sum(check.holds for check in asked)
    packages = ("hygro", "numba", "numpy", "pvlib", "diyepw")
    versions = ", ".join(f"{name} {version(name)}" for name in packages)
    parts = [
        HEAD.format(versions=versions),
        f"{len(found)} walls, {len(asked)} expectations: {met} met, {len(asked) - met} not.\n",
        "## Where engine and expectation contradict each other\n",
        *(_contradictions(found) or ["None.\n"]),
        "## All walls\n",
        "| | wall | place, room | expected | found, decided by | why | source |",
        "|---|---|---|---|---|---|---|",
        *(_row(item) for item in found),
    ]
    return "\n".join(parts) + "\n"


def _contradictions(found: Sequence[Judged]) -> list[str]:
    return [
        f"* **{item.row.number} {item.row.wall.name}** — expected {check.expected}; found "
        f"{check.found}. {' '.join(check.contradicted.split()) or 'Not looked into yet.'}\n"
        for item in found
        for check in item.checks
        if not check.holds
    ]


def _row(item: Judged) -> str:
    table = item.row.table
    expected = "<br>".join(check.expected for check in item.checks)
    told = "<br>".join(
        check.found if check.holds else f"**{check.found}: contradicts**" for check in item.checks
    )
    decided = item.found.deciding
    by = f"{decided.run.scenario}: {deciding_words(decided.verdict)}"
    cells = (
        str(item.row.number),
        item.row.wall.name,
        f"{item.row.place}; {item.row.room}",
        expected,
        f"{told}<br>{by}",
        table["why"],
        f"{table['source']} ({table['known']})",
    )
    return "| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |"
