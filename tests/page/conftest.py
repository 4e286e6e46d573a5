"""Results of two small walls and the page made of them, once for all tests of the page."""

from __future__ import annotations

from pathlib import Path

import pytest
from case_files import write_case
from typer.testing import CliRunner

from hygro.cli import app
from hygro.page import report

LEAKS = 'leaks.rain = { at = "sheathing" }\nleaks.air = { at = "sheathing", rate = 1e-6 }'


@pytest.fixture(scope="session")
def results(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder of records: a wall without leaks, one with rain and air leaks; a year each."""
    folder = tmp_path_factory.mktemp("page")
    case = write_case(folder, ('leaks.rain = { at = "sheathing" }', LEAKS))
    out = folder / "results"
    done = CliRunner().invoke(app, ["compare", str(case), "--out", str(out), "--processes", "1"])
    assert done.exit_code == 0, done.output
    return out


@pytest.fixture(scope="session")
def page(results: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The page of these records."""
    return report(sorted(results.glob("*.nc")), out=tmp_path_factory.mktemp("html") / "page.html")
