"""Processes that end in the middle of work: killed, interrupted, two at once. POSIX only.

A process is a fork of this one, so that it starts at once and can be killed at any moment of its
work. What was going on must come out as if nothing had happened: the same bytes, the same rows.
"""

from __future__ import annotations

import hashlib
import os
import signal
import sqlite3
import sys
import tempfile
import time
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

from hygro.case import load
from hygro.cli import app
from hygro.decide.study import study_of
from hygro.errors import HygroError
from hygro.record import load as load_record
from hygro.record import simulate_to_file, stream
from hygro.solve.turn import CHUNK
from hygro.wall.loads import Loads
from hygro.wall.wall import Wall
from tests.case_files import SOUND, write_case
from tests.fuzz.draw import Draw
from tests.fuzz.random_wall import drawn, random_surroundings
from tests.fuzz.subjects import QUICK, STUDY

BLOCKS = 6
"""Blocks of a run: so many places where it can go on. They are shorter here than in use."""
LONGEST = 300.0
"""Time after which a process is taken to hang. [s]"""
AT_ONCE = "another run is writing there"
Told = dict[str, Any]
Way = Callable[[Draw, Path], list[str]]


def tried(seed: int, kind: str, number: int) -> Told:
    """Do what the kind says at a random moment; say what does not hold."""
    draw = Draw(seed, kind, number)
    with tempfile.TemporaryDirectory(prefix="fuzz-") as name:
        what = draw.of(WAYS[kind])
        return {"what": what.__name__, "faults": what(draw, Path(name))}


def forked(work: Callable[[], object], log: Path) -> int:
    """Start a process that does some work; its id. It ends with 0, 2 for a `HygroError`, or 70."""
    pid = os.fork()
    if pid:
        return pid
    code = 70
    try:
        signal.signal(signal.SIGINT, signal.default_int_handler)
        handle = os.open(log, os.O_WRONLY | os.O_CREAT | os.O_APPEND)
        os.dup2(handle, 1)
        os.dup2(handle, 2)
        sys.stdout, sys.stderr = os.fdopen(1, "w"), os.fdopen(2, "w")
        work()
        code = 0
    except HygroError as error:
        os.write(2, f"{error}\n".encode())
        code = 2
    except SystemExit as error:
        code = error.code if isinstance(error.code, int) else 0
    except KeyboardInterrupt:
        code = 130
    except BaseException as error:  # noqa: BLE001
        os.write(2, f"Traceback: {error!r}\n".encode())
    finally:
        for stream_ in (sys.stdout, sys.stderr):
            stream_.flush()
        os._exit(code)


def ended(pid: int) -> int:
    """Exit code of a process, or minus its signal; one that does not end in time is killed."""
    deadline = time.monotonic() + LONGEST
    while True:
        there, status = os.waitpid(pid, os.WNOHANG)
        if there:
            return os.waitstatus_to_exitcode(status)
        if time.monotonic() > deadline:
            os.kill(pid, signal.SIGKILL)
        time.sleep(0.01)


def stopped(pid: int, number: int, seconds: float) -> int:
    """Send a signal after a while; the exit code."""
    time.sleep(seconds)
    os.kill(pid, number)  # a process that has ended waits for us, so its id is still its own
    return ended(pid)


def _run_case(draw: Draw) -> tuple[Wall, Loads]:
    wall, more, _ = drawn(draw.count(0, 2**31), 0)
    return wall, random_surroundings(wall, more, BLOCKS * CHUNK - draw.count(0, CHUNK))


def _to_file(case: tuple[Wall, Loads], file: Path) -> Callable[[], object]:
    def work() -> object:
        stream.BLOCK = CHUNK
        return simulate_to_file(*case, file=file)

    return work


def _digest(file: Path) -> str:
    return hashlib.sha256(file.read_bytes()).hexdigest()


def _timed(work: Callable[[], object], log: Path) -> float:
    began = time.monotonic()
    code = ended(forked(work, log))
    assert code == 0, log.read_text()
    return time.monotonic() - began


def killed_run(draw: Draw, folder: Path) -> list[str]:
    """A run to a file, killed up to four times, gives the bytes of one that was not."""
    case, log, cut = _run_case(draw), folder / "log", folder / "cut.nc"
    took = _timed(_to_file(case, folder / "whole.nc"), log)
    for _ in range(draw.count(1, 4)):
        stopped(forked(_to_file(case, cut), log), signal.SIGKILL, draw.within(0.0, took))
    if code := ended(forked(_to_file(case, cut), log)):
        return [f"goes not on, exit code {code}: {log.read_text()[-300:]}"]
    faults = [] if _digest(cut) == _digest(folder / "whole.nc") else ["other bytes"]
    left = sorted({p.name for p in folder.iterdir()} - {"log", "whole.nc", "cut.nc"})
    return faults + ([f"left behind: {left}"] if left else [])


def _study(folder: Path, store: str) -> Callable[[], object]:
    def work() -> None:
        study_of(load(folder / "case.toml"), "one", store=folder / store).run(processes=1)

    return work


def _write_study(folder: Path) -> None:
    path = write_case(folder)
    path.write_text(SOUND.replace(*QUICK) + STUDY, encoding="utf-8")


def _rows(store: Path) -> list[tuple[Any, ...]]:
    with sqlite3.connect(store) as base:
        return base.execute(
            "SELECT sha256, state, numbers, criteria, digests FROM result ORDER BY sha256"
        ).fetchall()


@cache
def _whole_study() -> tuple[float, list[tuple[Any, ...]]]:
    """How long the study takes, and its rows where nothing stops it."""
    with tempfile.TemporaryDirectory(prefix="fuzz-") as name:
        folder = Path(name)
        _write_study(folder)
        return _timed(_study(folder, "s"), folder / "log"), _rows(folder / "s")


def killed_study(draw: Draw, folder: Path) -> list[str]:
    """A study, killed up to three times, gives the rows of one that was not."""
    took, rows = _whole_study()
    _write_study(folder)
    log = folder / "log"
    for _ in range(draw.count(1, 3)):
        stopped(forked(_study(folder, "s"), log), signal.SIGKILL, draw.within(0.0, took))
    if code := ended(forked(_study(folder, "s"), log)):
        return [f"goes not on, exit code {code}: {log.read_text()[-300:]}"]
    return [] if _rows(folder / "s") == rows else ["other rows"]


def two_runs(draw: Draw, folder: Path) -> list[str]:
    """Two runs into one file: one does it, the other does or says that it cannot now."""
    case, file = _run_case(draw), folder / "x.nc"
    _timed(_to_file(case, folder / "whole.nc"), folder / "log")
    first = forked(_to_file(case, file), folder / "log 1")
    time.sleep(draw.within(0.0, 0.1))
    codes = [ended(forked(_to_file(case, file), folder / "log 2")), ended(first)]
    told = "".join(p.read_text() for p in folder.glob("log ?"))
    if 0 not in codes or not {0, 2} >= set(codes) or (2 in codes) is not (AT_ONCE in told):
        return [f"exit codes {codes}: {told[:300]}"]
    return [] if _digest(file) == _digest(folder / "whole.nc") else ["other bytes"]


def two_studies(draw: Draw, folder: Path) -> list[str]:
    """Two processes at one study: both end well, the rows are those of one."""
    _, rows = _whole_study()
    _write_study(folder)
    first = forked(_study(folder, "s"), folder / "log")
    time.sleep(draw.within(0.0, 0.1))
    codes = [ended(forked(_study(folder, "s"), folder / "log")), ended(first)]
    if codes != [0, 0]:
        return [f"exit codes {codes}: {(folder / 'log').read_text()[:300]}"]
    return [] if _rows(folder / "s") == rows else ["other rows"]


def _command(*arguments: str) -> Callable[[], object]:
    return lambda: app(list(arguments), prog_name="hygro", standalone_mode=True)


def interrupted(draw: Draw, folder: Path) -> list[str]:
    """A comparison that is told to end does, in good order; its files are whole."""
    write_case(folder, QUICK)
    out, log = folder / "out", folder / "log"
    words = ("compare", str(folder / "case.toml"), "--out", str(out), "--processes", "1")
    number = draw.of([signal.SIGINT, signal.SIGTERM, signal.SIGHUP])
    code = stopped(forked(_command(*words), log), number, draw.within(0.0, _comparison()))
    told = log.read_text() if log.exists() else ""
    begun = out.is_dir()
    faults = []
    if code not in (0, 130) and (begun or code != -number):
        faults.append(f"exit code {code} after {number.name}: {told[-300:]}")
    if "Traceback" in told:
        faults.append(f"a traceback after {number.name}: {told[-300:]}")
    for file in out.iterdir() if begun else ():
        if file.name.startswith("."):
            faults.append(f"left behind: {file.name}")
        elif file.suffix == ".nc":
            load_record(file)
    return faults


@cache
def _comparison() -> float:
    """How long the comparison takes where nothing stops it."""
    with tempfile.TemporaryDirectory(prefix="fuzz-") as name:
        folder = Path(name)
        write_case(folder, QUICK)
        words = ("compare", str(folder / "case.toml"), "--out", str(folder / "out"))
        return _timed(_command(*words, "--processes", "1"), folder / "log")


WAYS: dict[str, tuple[Way, ...]] = {
    "kill": (killed_run, killed_run, killed_study),
    "pair": (two_runs, two_studies),
    "signal": (interrupted,),
}
