"""Small cases with studies, fast to run, and commands on them in processes of their own.

Owns no expected value.
"""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

from case_files import write_case
from signals import heed_interrupts
from typer.testing import CliRunner, Result

from hygro.cli import app

ROOT = Path(__file__).parents[1]
QUICK = ('accuracy = "draft"', 'accuracy = "draft"\ntolerance = 10\nrepeat = "once"')
STUDY = """
[study.one]
wall = "leaky"
vary.rain_leak = { low = "0 %", high = "4 %", steps = 3 }
vary.winter_rh = ["30 %", "45 %"]

[study.many]
wall = "leaky"
leaks = "all"
vary.rain_leak = { low = "0 %", high = "4 %", steps = 8 }
vary.winter_rh = { low = "20 %", high = "60 %", steps = 12 }
"""


def write_study(folder: Path, text: str, *changes: tuple[str, str]) -> Path:
    """Write the small case with studies at its end."""
    path = write_case(folder, QUICK, *changes)
    path.write_text(path.read_text("utf-8") + text, encoding="utf-8")
    return path


def typed(*arguments: str) -> Result:
    """A command of studies in this process."""
    return CliRunner().invoke(app, ["study", *arguments])


def started(case: Path, *arguments: str) -> subprocess.Popen[str]:
    """A command in a process of its own."""
    path = {**os.environ, "PYTHONPATH": str(ROOT)}
    words = [sys.executable, "-m", "hygro.cli", *arguments]
    return subprocess.Popen(
        words, cwd=case.parent, env=path, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        preexec_fn=heed_interrupts,
    )  # fmt: skip


def stored(file: str) -> dict[str, tuple[Any, ...]]:
    """Results of a store by their hash, without times."""
    with sqlite3.connect(file) as base:
        rows = base.execute("SELECT sha256, state, numbers, criteria, digests FROM result")
        return {row[0]: row[1:] for row in rows}


def made_at(file: str) -> dict[str, float]:
    """When each result was stored."""
    with sqlite3.connect(file) as base:
        return dict(base.execute("SELECT sha256, made FROM result"))


def until(rows: int, file: Path, seconds: float = 240.0) -> None:
    """Wait until a store holds some results."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if file.exists():
            with sqlite3.connect(file, timeout=5.0) as base:
                try:
                    if base.execute("SELECT count(*) FROM result").fetchone()[0] >= rows:
                        return
                except sqlite3.OperationalError:
                    pass
        time.sleep(0.02)
    raise AssertionError(f"{file}: not {rows} results in {seconds} s")
