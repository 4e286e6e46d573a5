"""Ctrl-C while a file is written or read: in the very moment at which its library closes a lock.

The library of datasets would leave the lock closed, and wait for it when the file is ended.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from signals import heed_interrupts

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="signals of POSIX")

MADE = """
import os, signal, sys
from pathlib import Path

import numpy as np
import xarray as xr
import xarray.backends.locks as locks

import hygro
from case_files import write_case
from feature_walls import features
from hygro.case import load as load_case
from hygro.case.climate import climate
from hygro.decide.export import write_dataset
from hygro.record import files, simulate_loads, simulate_to_file

folder = Path(sys.argv[1])
wall, loads = next((x.wall, x.loads) for x in features().values())
closing, heard = locks.acquire, []
OPENED = 2  # so often a lock is closed before there is a file to end


def acquire(lock, blocking=True):
    closed = closing(lock, blocking)
    if heard:
        heard.append(lock)
    if len(heard) > OPENED + 1:
        os.kill(os.getpid(), signal.SIGINT)
    return closed


locks.acquire = acquire
numbers = xr.Dataset({"a": ("x", np.arange(3.0))})
"""
ENDED = """
heard.append(True)
try:
    door()
    print("went on")
except KeyboardInterrupt:
    print("interrupted")
    heard.clear()
    door()
    print("and whole")
"""
DOORS = {
    "a record is written": """
record = simulate_loads(wall, loads)
def door(): files.save(record, folder / "record.nc")
""",
    "a record is read": """
files.save(simulate_loads(wall, loads), folder / "record.nc")
def door(): files.load(folder / "record.nc")
""",
    "results of a study are written": """
def door(): write_dataset(numbers, folder / "study.nc")
""",
    "the record of a run that can be resumed begins": """
def door(): simulate_to_file(wall, loads, file=folder / "long.nc")
""",
    "weather is read by itself": """
climate(load_case(write_case(folder))).to_netcdf(folder / "weather.nc")
def door(): hygro.read_weather(folder / "weather.nc")
""",
    "weather of a case is read": """
sky = climate(load_case(write_case(folder)))
sky.to_netcdf(folder / "weather.nc")
text = (folder / "case.toml").read_text()
table = text[text.index('file ='):text.index("[room")]
(folder / "case.toml").write_text(text.replace(table, 'file = "weather.nc"\\n'))
place = load_case(folder / "case.toml")
def door(): climate(place)
""",
}


@pytest.mark.parametrize("name", DOORS)
def test_an_interrupt_comes_when_the_file_is_done_with(name: str, tmp_path: Path) -> None:
    words = [sys.executable, "-c", MADE + DOORS[name] + ENDED, str(tmp_path)]
    got = subprocess.run(
        words,
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
        preexec_fn=heed_interrupts,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)},
    )
    assert got.stdout.split("\n")[:2] == ["interrupted", "and whole"], got.stderr
    assert not [*tmp_path.glob(".hygro-*")]
