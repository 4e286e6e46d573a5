"""Compiled kernels are kept by what their sources say, or not at all."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

import hygro
from hygro.solve.kernels import compiler
from hygro.solve.lanes import WIDTH
from hygro.study import ahead
from hygro.study.processes import in_processes


def test_a_change_of_any_source_gives_another_folder(tmp_path: Path) -> None:
    package = tmp_path / "hygro"
    (package / "solve").mkdir(parents=True)
    home = Path(hygro.__file__).parent
    shutil.copy(home / "constants.py", package)
    for name in ("kernels", "lanes", "dual"):
        shutil.copytree(home / "solve" / name, package / "solve" / name)
    for name in ("control.py", "columns.py"):
        shutil.copy(home / "solve" / name, package / "solve")
    (tmp_path / "weather").mkdir()
    for name in ("constants.py", "moistair.py"):
        shutil.copy(home.parent / "weather" / name, tmp_path / "weather")
    seen = {compiler._digest(package)}
    names = (
        "constants.py",
        "solve/kernels/cell.py",
        "solve/lanes/curves.py",
        "solve/dual/rules.py",
        "../weather/moistair.py",
    )
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
        "from hygro.assess.mould_loop import weeks_start as two; "
        "assert {type(f._cache).__name__ for f in (one, two)} == {'NullCache'}"
    )
    got = run(code, tmp_path / "file" / "below")
    assert len(got.stderr.splitlines()) == 1
    assert "NUMBA_CACHE_DIR" in got.stderr


def test_loops_of_ratings_are_kept_beside_the_kernels(tmp_path: Path) -> None:
    run("from hygro.assess.mould_loop import weeks_start; weeks_start(20.0, 90.0, 0.0)", tmp_path)
    (folder,) = tmp_path.iterdir()
    assert list(folder.rglob("mould_loop.weeks_start*.nbi"))


TOY = """
import logging, sys
from typing import NamedTuple
from hygro.solve.kernels.compiler import by_width, entry

logging.basicConfig(stream=sys.stdout, format="%(message)s")
logging.getLogger("hygro").setLevel(logging.INFO)

class Cells(NamedTuple):
    width: int

class Problem(NamedTuple):
    cells: Cells

@entry
def twice(pb, x):
    return 2 * x

call = by_width(twice)
print([call(Problem(Cells(width)), x) for width, x in ((1, 1.5), (1, 1.5), (8, 3))])
"""
TOY_ANSWERS = "[3.0, 3.0, 6]"


def test_what_is_compiled_is_told_once_and_not_where_it_is_kept(
    tmp_path: Path,
) -> None:
    toy = tmp_path / "toy.py"
    toy.write_text(TOY)
    code = f"import runpy; runpy.run_path({str(toy)!r})"
    told = [run(code, tmp_path / "cache").stdout.splitlines() for _ in range(2)]
    assert told == [
        ["compiling the solver, once: a few minutes", TOY_ANSWERS],
        [TOY_ANSWERS],
    ]


COMMAND = """
import logging
import typer
from hygro.cli.errors import Group

app = typer.Typer(cls=Group)

@app.command()
def one():
    logging.getLogger("hygro.solve").info("compiling")

@app.command()
def two():
    pass

app(["one"])
"""


@pytest.mark.skipif(sys.platform == "win32", reason="needs a terminal of POSIX")
def test_a_command_says_it_on_a_terminal_alone() -> None:
    ours, theirs = os.openpty()
    subprocess.run([sys.executable, "-c", COMMAND], check=True, stderr=theirs)
    os.close(theirs)
    assert os.read(ours, 1000).decode().splitlines() == ["compiling"]
    os.close(ours)
    got = subprocess.run([sys.executable, "-c", COMMAND], check=True, capture_output=True)
    assert got.stderr == b""


def test_one_process_compiles_before_workers_start(monkeypatch: pytest.MonkeyPatch) -> None:
    """Three walls in a task run one by one, eight in lanes; what is kept is not run."""
    made: list[int] = []
    monkeypatch.setattr(ahead, "run_plain", made.append)
    monkeypatch.setattr(ahead, "kept", lambda: False)
    ahead.compile_first([3, 1])
    ahead.compile_first([8, 1])
    monkeypatch.setattr(ahead, "kept", lambda: True)
    ahead.compile_first([8, 1])
    monkeypatch.setattr(ahead, "kept", lambda: False)
    monkeypatch.setattr(ahead, "cache_folder", lambda: None)
    ahead.compile_first([8, 1])
    assert made == [1, 1, WIDTH]


def test_code_is_kept_where_both_ways_to_march_are_newer_than_their_source(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(ahead, "cache_folder", lambda: tmp_path)
    found = [ahead.kept()]
    for number in (1, 2):
        (tmp_path / f"march.march-1.py311.{number}.nbc").write_text("")
        found.append(ahead.kept())
    os.utime(tmp_path / "march.march-1.py311.1.nbc", (0.0, 0.0))
    found.append(ahead.kept())
    monkeypatch.setattr(ahead, "cache_folder", lambda: None)
    assert [*found, ahead.kept()] == [False, False, True, False, False]


def test_what_workers_need_first_is_done_once_and_in_this_process() -> None:
    done: list[int] = []
    in_processes(
        _same, None, [1, 2, 3], progress=None, count=2, first=lambda: done.append(os.getpid())
    )
    assert done == [os.getpid()]


def _same(_shared: None, _number: int, item: int, _tell: object) -> int:
    return item
