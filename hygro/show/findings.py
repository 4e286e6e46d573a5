"""Findings of one run: those that decide, those that advise, and where limits come from."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from rich.table import Table

from hygro.assess.verdict import margin_words
from hygro.show.converted import converted
from hygro.show.tables import listed
from hygro.show.words import ORIGINS
from hygro.units import System

if TYPE_CHECKING:
    from hygro.assess.criteria import Finding
    from hygro.assess.verdict import Verdict


def findings(verdict: Verdict, *, system: System = "si") -> list[Table]:
    """Return the findings of one run: the criteria that decide, and those that do not."""
    titles = {
        True: f"Criteria, sheathing '{verdict.sheathing}' ({verdict.sheathing_reason})",
        False: "Advisory, these decide nothing",
    }
    found = []
    for hard, title in titles.items():
        mine = [finding for finding in verdict.findings if finding.hard is hard]
        if mine:
            found.append(_findings(title, mine, system))
    return found


def _findings(title: str, findings: Sequence[Finding], system: System) -> Table:
    headings = ("Criterion", "Place", "Value", "Limit", "Margin", "")
    table = listed(title, *((h, "left" if i < 2 else "right") for i, h in enumerate(headings)))
    for column in table.columns[2:]:
        column.width = 8
    table.columns[-1].width = 12
    _finding_rows(table, findings, system)
    return table


def _finding_rows(table: Table, findings: Sequence[Finding], system: System) -> None:
    """A row for each finding; a criterion that goes on is not named again."""
    last = ""
    for finding in findings:
        quantity = converted(finding.criterion.quantity, system)
        table.add_row(
            "" if quantity == last else quantity,
            finding.place,
            *(converted(text, system) for text in _value_and_limit(finding)),
            margin_words(finding.margin),
            finding.outcome.removeprefix("advisory: "),
            style="bold" if finding.hard and finding.passed is False else "",
        )
        last = quantity


def _value_and_limit(finding: Finding) -> tuple[str, str]:
    row = finding.criterion
    value = "–" if finding.value is None else row.shown(finding.value)
    return value, row.worded(finding.limit)


def sources(verdict: Verdict) -> list[str]:
    """Return where the limits that decide come from, and how surely they are known here."""
    rows = dict.fromkeys(finding.criterion for finding in verdict.findings if finding.hard)
    return list(
        dict.fromkeys(f"{row.quantity}: {row.source} ({ORIGINS[row.origin]})" for row in rows)
    )
