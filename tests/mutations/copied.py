"""A copy of the project in which errors are made and tests run, each run in a process of its own.

The libraries are imported once; every run is a fork that imports the project of the copy anew.
"""

from __future__ import annotations

import contextlib
import os
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Iterator, Sequence
from importlib import import_module
from pathlib import Path

from tests.mutations.read import ROOT, Mutation

GREEN, FAILED = 0, 1
TOO_LONG = -1
_LIBRARIES = (
    "numpy", "scipy.optimize", "scipy.interpolate", "numba", "pandas", "xarray", "netCDF4",
    "pydantic", "pvlib", "matplotlib.figure", "rich.table", "typer.testing", "hypothesis", "pytest",
)  # fmt: skip


def copy(folder: Path) -> Path:
    """Copy what git knows or would know to a folder; what is there already is replaced."""
    listed = subprocess.run(
        ["git", "ls-files", "-co", "--exclude-standard"],
        cwd=ROOT, check=True, capture_output=True, text=True,
    ).stdout.splitlines()  # fmt: skip
    for name in listed:
        source, target = ROOT / name, folder / name
        if source.is_file():
            target.parent.mkdir(parents=True, exist_ok=True)
            shutil.copy2(source, target)
    return folder


def prepare(folder: Path) -> None:
    """Stand in the copy, with the libraries imported and nothing of the project."""
    for name in _LIBRARIES:
        import_module(name)
    os.chdir(folder)
    sys.path[:] = [str(folder), *(p for p in sys.path if Path(p or ".").resolve() != ROOT)]
    os.environ |= {"PYTHONPATH": str(folder), "NUMBA_CACHE_DIR": str(folder / ".compiled")}
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
    """Exit code of pytest, or `TOO_LONG`; what it writes goes to the log."""
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
        code = int(pytest.main(["-x", "-q", "-p", "no:cacheprovider", *tests]))
        sys.stdout.flush()
    finally:
        os._exit(code)
