"""The cost of a run, as ratios that hold on any machine, is not worse than recorded."""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from benchmarks.ratios import measure, recorded, worse


def test_ratios_of_cost_are_not_worse_than_recorded() -> None:
    """Margins are factors of 2 to 3: another processor, a busy machine, a cold cache."""
    found = measure()
    assert set(recorded()) == set(found)
    assert worse(found) == []


def test_a_worse_ratio_is_told() -> None:
    bad = {
        name: row["value"] * (0.1 if row["better"] == "more" else 10.0)
        for name, row in recorded().items()
    }
    assert len(worse(bad)) == len(bad)
