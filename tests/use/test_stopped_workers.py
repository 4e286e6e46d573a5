"""What has workers ends within seconds of Ctrl-C, whatever they do, and none is left."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from signals import heed_interrupts

pytestmark = pytest.mark.skipif(not Path("/proc").is_dir(), reason="looks for processes in /proc")
ROOT = Path(__file__).parents[2]
SOON = 20.0
"""Many times what it takes (1 s until the deaf are killed), so that a busy machine has time. [s]"""
Start = Callable[[str], subprocess.Popen[str]]


@pytest.fixture
def start(tmp_path: Path) -> Iterator[Start]:
    """Start a command with two workers in a process group of its own."""
    groups: list[int] = []

    def begin(word: str) -> subprocess.Popen[str]:
        paths = os.pathsep.join(map(str, (ROOT, ROOT / "tests")))
        process = subprocess.Popen(
            [sys.executable, str(ROOT / "tests" / "troubled_workers.py"), word, str(tmp_path)],
            env={**os.environ, "PYTHONPATH": paths, "FOLDER": str(tmp_path)},
            stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
            preexec_fn=heed_interrupts, start_new_session=True,
        )  # fmt: skip
        groups.append(process.pid)
        return process

    yield begin
    for group in groups:
        for pid in members(group):
            os.kill(pid, signal.SIGKILL)


def members(group: int) -> list[int]:
    """Processes of a group that live."""
    found = []
    for stat in Path("/proc").glob("[0-9]*/stat"):
        try:
            state, _, its, *_ = stat.read_text().rsplit(")", 1)[1].split()
        except OSError:
            continue
        if int(its) == group and state != "Z":
            found.append(int(stat.parent.name))
    return found


def await_files(folder: Path, count: int) -> None:
    end = time.monotonic() + 120.0
    while len(list(folder.iterdir())) < count and time.monotonic() < end:
        time.sleep(0.02)
    assert len(list(folder.iterdir())) >= count


def ended(process: subprocess.Popen[str], code: int) -> str:
    """Make sure that all of a group ends soon; returns what it wrote."""
    stdout, stderr = process.communicate(timeout=SOON)
    assert process.returncode == code, stderr
    assert stderr == ""
    end = time.monotonic() + SOON
    while members(process.pid) and time.monotonic() < end:
        time.sleep(0.02)
    assert members(process.pid) == []
    return stdout


@pytest.mark.parametrize("send", [os.kill, os.killpg])
@pytest.mark.parametrize(("word", "files"), [("deaf", 2), ("halfway", 1), ("slow", 1)])
def test_ctrl_c_ends_workers_that_do_not_come_back(
    start: Start, tmp_path: Path, word: str, files: int, send: Callable[[int, int], None]
) -> None:
    process = start(word)
    await_files(tmp_path, files)
    send(process.pid, signal.SIGINT)
    ended(process, 130)


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP])
@pytest.mark.parametrize("word", ["halfway", "slow"])
def test_what_workers_are_copies_of_hears_no_signal_of_the_group(
    start: Start, tmp_path: Path, word: str, number: int
) -> None:
    process = start(word)
    await_files(tmp_path, 1)
    os.killpg(process.pid, number)
    ended(process, 130)


def test_a_worker_removes_its_scraps_before_it_ends(start: Start, tmp_path: Path) -> None:
    process = start("filing")
    await_files(tmp_path, 4)  # two workers, each with its file and the sign that it has begun
    assert list(tmp_path.glob(".hygro-*"))
    process.send_signal(signal.SIGINT)
    ended(process, 130)
    assert not list(tmp_path.glob(".hygro-*"))


def test_ctrl_c_that_comes_while_futures_are_locked_ends_all(start: Start) -> None:
    ended(start("locked"), 130)


def test_a_worker_that_ends_in_the_middle_of_its_result_is_said(start: Start) -> None:
    assert "a process ended before its run was done" in ended(start("cut"), 2)
