"""A comparison that is ended from outside takes its workers with it, and its scraps."""

from __future__ import annotations

import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from case_files import write_case
from signals import heed_interrupts

pytestmark = pytest.mark.skipif(not Path("/proc").is_dir(), reason="looks for processes in /proc")


def below(pid: int) -> list[int]:
    """Processes started by one, and those that they started, as Linux lists them."""
    try:
        mine = [int(x) for x in Path(f"/proc/{pid}/task/{pid}/children").read_text().split()]
    except OSError:
        return []
    return mine + [k for child in mine for k in below(child)]


def lives(pid: int) -> bool:
    try:
        return Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()[0] != "Z"
    except OSError:
        return False


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP, signal.SIGKILL])
def test_workers_end_within_seconds_of_their_parent(tmp_path: Path, number: signal.Signals) -> None:
    case = write_case(tmp_path, ("[settings]", "[settings]\nyears = 30\ntolerance = 0.02"))
    out = tmp_path / "out"
    command = [sys.executable, "-m", "hygro.cli", "compare", str(case), "--out", str(out)]
    process = subprocess.Popen(
        [*command, "--processes", "2"], stderr=subprocess.PIPE, stdout=subprocess.PIPE,
        preexec_fn=heed_interrupts,
    )  # fmt: skip
    deadline = time.monotonic() + 120
    while len(below(process.pid)) < 4 and time.monotonic() < deadline:
        time.sleep(0.05)  # two workers, what they are copies of, and the tracker of resources
    time.sleep(3.0)  # well into the runs, which take longer than this
    workers = below(process.pid)
    assert len(workers) >= 4
    process.send_signal(number)
    began = time.monotonic()
    _, stderr = process.communicate(timeout=30)
    while any(map(lives, workers)) and time.monotonic() < began + 10:
        time.sleep(0.05)
    assert not any(map(lives, workers))
    if number is not signal.SIGKILL:
        assert process.returncode == 130, stderr.decode()
        assert stderr.startswith(b"stopped;")
        assert b"Traceback" not in stderr
        assert [p.name for p in out.iterdir() if p.suffix != ".nc" or p.name[0] == "."] == []
