"""Compiled kernels are kept by what their sources say, or not at all."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import hygro
from hygro.solve.kernels import compiler


def test_a_change_of_any_source_gives_another_folder(tmp_path: Path) -> None:
    package = tmp_path / "hygro"
    (package / "solve").mkdir(parents=True)
    home = Path(hygro.__file__).parent
    shutil.copy(home / "constants.py", package)
    shutil.copytree(home / "solve" / "kernels", package / "solve" / "kernels")
    for name in ("lanes.py", "dual.py", "control.py", "columns.py"):
        shutil.copy(home / "solve" / name, package / "solve")
    (tmp_path / "weather").mkdir()
    for name in ("constants.py", "moistair.py"):
        shutil.copy(home.parent / "weather" / name, tmp_path / "weather")
    seen = {compiler._digest(package)}
    names = ("constants.py", "solve/kernels/cell.py", "solve/dual.py", "../weather/moistair.py")
    for name in names:
        path = package / name
        path.write_text(path.read_text() + "\n")
        seen.add(compiler._digest(package))
    assert len(seen) == 1 + len(names)


def run(code: str, cache: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-c", code], check=True, capture_output=True, text=True,
        env={**os.environ, "NUMBA_CACHE_DIR": str(cache)},
    )  # fmt: skip


def test_without_a_folder_to_write_kernels_run_and_one_line_is_said(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    code = "from hygro.solve.kernels import report; assert report.curves.py_func"
    got = run(code, tmp_path / "file" / "below")
    assert len(got.stderr.splitlines()) == 1
    assert "NUMBA_CACHE_DIR" in got.stderr


def test_with_a_folder_nothing_is_said(tmp_path: Path) -> None:
    got = run("from hygro.solve.kernels import report", tmp_path)
    assert got.stderr == ""
    assert [p.name[:8] for p in tmp_path.iterdir()] == ["kernels-"]


def test_ratings_run_without_a_folder_to_write_too(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    code = (
        "from hygro.assess.decay import _activation_rate as one; "
        "from hygro.assess.mould import _weeks_start as two; "
        "assert {type(f._cache).__name__ for f in (one, two)} == {'NullCache'}"
    )
    got = run(code, tmp_path / "file" / "below")
    assert len(got.stderr.splitlines()) == 1
    assert "NUMBA_CACHE_DIR" in got.stderr


def test_loops_of_ratings_are_kept_beside_the_kernels(tmp_path: Path) -> None:
    run("from hygro.assess.mould import _weeks_start; _weeks_start(20.0, 90.0, 0.0)", tmp_path)
    (folder,) = tmp_path.iterdir()
    assert list(folder.rglob("mould._weeks_start*.nbi"))
