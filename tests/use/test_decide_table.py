"""The table of costs of studies says what was recorded."""

from __future__ import annotations

from pathlib import Path

from benchmarks.decide import table

PAGE = Path(__file__).parents[2] / "docs" / "decisions.md"


def test_the_table_of_costs_is_what_was_recorded() -> None:
    lines = PAGE.read_text("utf-8").splitlines()
    wanted = table()
    assert len(wanted) > 4
    assert "\n".join(wanted) in "\n".join(lines)
