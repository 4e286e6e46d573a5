"""What a command says when the runs of a question are made, in one round or in several."""

from __future__ import annotations

import pytest

from hygro.cli.patience import patience
from hygro.decide.runner import Progress


def heard(made: int) -> Progress:
    return Progress(done=made, total=9, years=0.0, seconds=1.0, made=made, failed=0)


def test_runs_of_all_rounds_are_counted(capsys: pytest.CaptureFixture[str]) -> None:
    """Rounds of 5, 0 and 3 runs, each from its own beginning."""
    with patience("hygro map again") as tell:
        for made in (0, 2, 5, 0, 0, 1, 3):
            tell(heard(made))
    assert "8 runs made in" in capsys.readouterr().err
