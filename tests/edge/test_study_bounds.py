"""What a study may take of memory, and what its commands leave beside its file."""

from __future__ import annotations

from pathlib import Path

import pytest
from study_cases import STUDY, started, write_study

from hygro.decide.study import Study
from hygro.errors import InputError
from hygro.study.varied import Range


def test_more_points_than_a_study_has_are_refused() -> None:
    """1001 by 1000 points are 1000 more than the bound of a million."""
    vary = {"winter_rh": Range("20 %", "60 %", 1001), "outboard_share": Range("5 %", "95 %", 1000)}
    with pytest.raises(InputError, match=r"1e\+06 points \(1001 of winter_rh × 1000 of outboard"):
        Study("demonstration", wall="two thirds outboard", vary=vary)


def test_a_command_leaves_nothing_beside_the_file_of_results(tmp_path: Path) -> None:
    """The database's log goes into the file as the command ends, so that a copy of it is whole."""
    case = write_study(tmp_path, STUDY)
    for command in ("plan", "status"):
        process = started(case, command, "case.toml", "one")
        assert process.communicate()[1] == ""
        assert process.returncode == 0
        assert [x.name for x in tmp_path.glob("one.study*")] == ["one.study"]
