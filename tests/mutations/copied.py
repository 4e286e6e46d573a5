"""A copy of the project in which errors are made and tests run, each run in a process of its own.

The libraries are imported once; every run is a fork that imports the project of the copy anew.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Iterator, Sequence
from importlib import import_module, util
from pathlib import Path

from tests.mutations.read import ROOT, Mutation

GREEN, FAILED = 0, 1
TOO_LONG, SKIPPED = -1, 71
"""Beside the codes of pytest: stopped by us; nothing but tests that were skipped."""
_LIBRARIES = (
    "numpy", "scipy.optimize", "scipy.interpolate", "numba", "pandas", "xarray", "netCDF4",
    "pydantic", "pvlib", "matplotlib.figure", "rich.table", "typer.testing", "hypothesis", "pytest",
)  # fmt: skip
_PARTS = ("hygro", "weather", "tests", "cases", "docs", "benchmarks", ".ci")


def files() -> list[str]:
    """What a copy holds: what git knows or would know; without git the folders of the project."""
    command = ["git", "ls-files", "-co", "--exclude-standard"]
    with contextlib.suppress(OSError, subprocess.CalledProcessError):
        done = subprocess.run(command, cwd=ROOT, check=True, capture_output=True, text=True)
        return [name for name in done.stdout.splitlines() if (ROOT / name).is_file()]
    found = [p for part in _PARTS for p in (ROOT / part).rglob("*")] + list(ROOT.iterdir())
    return [str(p.relative_to(ROOT)) for p in found if p.is_file() and "__pycache__" not in p.parts]


def copy(folder: Path) -> Path:
    """Copy the project to a folder; what is there already is replaced."""
    for name in files():
        target = folder / name
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copy2(ROOT / name, target)
    return folder


def digest() -> str:
    """Of all sources and data: what was noticed in one state says nothing of another."""
    seen = hashlib.sha256()
    for name in sorted(files()):
        if name.partition("/")[0] in ("hygro", "weather", "tests", "cases", "pyproject.toml"):
            seen.update(name.encode() + b"\0" + (ROOT / name).read_bytes())
    return seen.hexdigest()


def import_libraries() -> None:
    """Import what the project uses, as far as it is installed."""
    for name in _LIBRARIES:
        if util.find_spec(name.partition(".")[0]) is not None:
            import_module(name)


def stand_in(folder: Path) -> None:
    """Stand in the copy, with nothing of the project imported."""
    os.chdir(folder)
    sys.path[:] = [str(folder), *(p for p in sys.path if Path(p or ".").resolve() != ROOT)]
    # libraries that are installed for this run alone stay on the path of started commands
    rest = [p for p in os.environ.get("PYTHONPATH", "").split(os.pathsep) if p not in ("", ".")]
    kept = [p for p in rest if Path(p).resolve() != ROOT]
    os.environ |= {
        "PYTHONPATH": os.pathsep.join([str(folder), *kept]),
        "NUMBA_CACHE_DIR": str(folder / ".compiled"),
    }
    mine = [name for name in sys.modules if name.partition(".")[0] in ("hygro", "weather")]
    assert not mine, mine


@contextlib.contextmanager
def applied(mutation: Mutation, turn: int) -> Iterator[None]:
    """The copy with the error in it.

    The file gets a time of its own: what was compiled of it before and after is told apart by that.
    """
    path = Path(mutation.file)
    kept, stamp = path.read_bytes(), path.stat().st_mtime
    path.write_text(
        kept.decode("utf-8").replace(mutation.text, mutation.replacement), encoding="utf-8"
    )
    os.utime(path, (stamp + 10.0 * (turn + 1),) * 2)
    try:
        yield
    finally:
        path.write_bytes(kept)
        os.utime(path, (stamp, stamp))


def tested(tests: Sequence[str], *, interpreted: bool, seconds: float, log: Path) -> int:
    """Exit code of pytest, `SKIPPED` or `TOO_LONG`; what it writes goes to the log."""
    child = os.fork()
    if child == 0:
        _child(tests, interpreted, log)
    end = time.monotonic() + seconds
    done = 0
    try:
        while time.monotonic() < end:
            done, status = os.waitpid(child, os.WNOHANG)
            if done:
                return os.waitstatus_to_exitcode(status)
            time.sleep(0.05)
        return TOO_LONG
    finally:
        if not done:  # it ran too long, or this process is interrupted
            os.killpg(child, signal.SIGKILL)
            os.waitpid(child, 0)


class _Passed:
    """Counts the tests that passed."""

    count = 0

    def pytest_runtest_logreport(self, report: object) -> None:
        self.count += report.when == "call" and report.passed  # type: ignore[attr-defined]


def _child(tests: Sequence[str], interpreted: bool, log: Path) -> None:
    """Run the tests in this process and end it."""
    code = 70
    try:
        os.setsid()
        with log.open("wb") as file:
            os.dup2(file.fileno(), 1)
            os.dup2(file.fileno(), 2)
        for name in [n for n in sys.modules if n.partition(".")[0] == "tests"]:
            del sys.modules[name]
        import numba
        import pytest

        os.environ["NUMBA_DISABLE_JIT"] = str(int(interpreted))
        numba.core.config.reload_config()
        passed = _Passed()
        code = int(pytest.main(["-x", "-q", "-p", "no:cacheprovider", *tests], plugins=[passed]))
        if code == GREEN and not passed.count:
            code = SKIPPED
        sys.stdout.flush()
    finally:
        os._exit(code)
