"""What a study may take of memory, and what its commands leave beside its file."""

from __future__ import annotations

import sqlite3
from contextlib import closing
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


def test_a_store_that_another_process_is_making_has_no_run_yet(tmp_path: Path) -> None:
    """A second process may look at the file after it is there and before its tables are."""
    file = tmp_path / "one.study"
    with closing(sqlite3.connect(file, isolation_level=None)) as base:
        base.execute("PRAGMA journal_mode = WAL")
    vary = {"winter_rh": [0.3, 0.4]}
    study = Study("demonstration", wall="all outboard", vary=vary, store=file)
    assert study.finished() == set()


def test_a_file_of_something_else_is_no_store(tmp_path: Path) -> None:
    file = tmp_path / "other.study"
    with closing(sqlite3.connect(file, isolation_level=None)) as base:
        base.execute("CREATE TABLE mine (x)")
    study = Study("demonstration", wall="all outboard", vary={"winter_rh": [0.3]}, store=file)
    with pytest.raises(InputError, match=r"other\.study"):
        study.finished()


TWO = """
[study.two]
wall = "leaky"
leaks = "all"
vary.rain_leak = { low = "0 %", high = "4 %", steps = 2 }
vary.winter_rh = { low = "30 %", high = "45 %", steps = 2 }

[study.drawn]
wall = "leaky"
leaks = "all"
samples = 2
vary.winter_rh = { kind = "uniform", low = 0.3, high = 0.5 }
"""
AGAIN = ('file = "town.csv"', 'files = ["town.csv", "again.csv"]')
COMMANDS = (
    ("study", "run", "case.toml", "two"),
    ("map", "case.toml", "two", "--full"),
    ("least", "case.toml", "one", "--no-check"),
    ("sample", "case.toml", "drawn"),
    ("years", "case.toml", "--wall", "leaky"),
    ("limit", "case.toml", 'wall."leaky".leaks.rain.fraction', "--low", "0 %", "--high", "1 %"),
)


@pytest.fixture(scope="module")
def two_years(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("beside")
    case = write_study(folder, STUDY + TWO, AGAIN)
    later = (folder / "town.csv").read_text("utf-8").replace("2002-", "2003-")
    (folder / "again.csv").write_text(later.replace("2001-", "2002-"), encoding="utf-8")
    return case


@pytest.mark.parametrize("words", COMMANDS, ids=lambda words: words[0])
def test_a_command_leaves_nothing_beside_the_file_of_results(
    two_years: Path, words: tuple[str, ...]
) -> None:
    """The database's log goes into the file as the command ends, so that a copy of it is whole."""
    file = f"{words[0]}.db"
    assert left_by(two_years, file, *words, "--store", file) == [file]


def test_nor_does_a_command_that_reads_it(two_years: Path) -> None:
    store = ("--store", "read.db")
    for words in (
        ("study", "run", "case.toml", "two", *store), ("report", "read.db"),
        ("study", "plan", "case.toml", "two", *store),
        ("study", "status", "case.toml", "two", *store),
    ):  # fmt: skip
        assert left_by(two_years, "read.db", *words) == ["read.db"], words


def left_by(case: Path, file: str, *words: str) -> list[str]:
    """What lies beside a file after a command."""
    process = started(case, *words)
    output = process.communicate()
    assert process.returncode == 0, output
    return [x.name for x in case.parent.glob(f"{file}*")]
