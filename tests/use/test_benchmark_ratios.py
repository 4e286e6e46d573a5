"""The cost of a run, as ratios that hold on any machine, is not worse than recorded."""

from __future__ import annotations

import json
import shutil
import sys
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parents[2]))

from benchmarks import cvode, speed_page
from benchmarks.cvode import Anchor, Policy
from benchmarks.ratios import measure, recorded, worse
from hygro.errors import InputError
from hygro.proof.trials import trials
from hygro.proof.twin import integrate

needs_gcc = pytest.mark.skipif(shutil.which("gcc") is None, reason="gcc compiles the C driver")


@needs_gcc
def test_ratios_of_cost_are_not_worse_than_recorded() -> None:
    """By a quarter: the least times of interleaved rounds, more of them while one seems worse."""
    found = measure()
    assert set(recorded()) == set(found)
    assert worse(found) == []


@pytest.mark.parametrize("factor", [1.3, 10.0])
def test_a_worse_ratio_is_told(factor: float) -> None:
    bad = {
        name: row["value"] * (1.0 / factor if row["better"] == "more" else factor)
        for name, row in recorded().items()
    }
    assert len(worse(bad)) == len(bad)


@needs_gcc
def test_cvode_from_c_solves_the_same_equations_as_from_python() -> None:
    """Both at 1e-8: 5e-6 K r.m.s. apart over ten days; bounds of the worst cell and hour."""
    trial = trials(24)["framed"]
    from_python = integrate(trial.wall, trial.loads, rtol=1e-8)
    from_c = Anchor(trial).march(1e-8, Policy(contents=False))
    assert np.abs(from_c.T - from_python.T).max() < 1e-3
    assert np.abs(from_c.rh - from_python.rh).max() < 1e-4
    # the exact Jacobian saves the right-hand sides of the differences
    assert from_c.evaluations < from_python.evaluations


def test_a_missing_compiler_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    cvode.library.cache_clear()
    monkeypatch.setattr(shutil, "which", lambda _: None)
    with pytest.raises(InputError, match="gcc: not found"):
        cvode.library()
    cvode.library.cache_clear()


def test_the_page_on_speed_shows_what_is_recorded() -> None:
    found = json.loads((Path(cvode.__file__).parent / "speed.json").read_text(encoding="utf-8"))
    assert speed_page.PAGE.read_text(encoding="utf-8") == speed_page.page(found)
    again = speed_page.page(found | {"cores": 3, "load": 0.4, "day": "2031-05-06"})
    assert f"{found['machine']}, 3 cores, load 0.4, 2031-05-06; " in again
