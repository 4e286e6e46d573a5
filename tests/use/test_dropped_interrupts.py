"""Ctrl-C that comes while an object is being removed, where Python drops what is raised."""

from __future__ import annotations

import signal
import subprocess
import sys

import pytest
from signals import heed_interrupts

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="signals of POSIX")
COMMAND = """
import os, signal, sys, time
import typer
from hygro.cli.errors import Group

app = typer.Typer(cls=Group)


class Last:
    def __del__(self):
        if {number}:
            os.kill(os.getpid(), {number})
            time.sleep(0.01)
        else:
            raise ValueError("not an interrupt")


@app.command()
def wait():
    thing = Last()
    del thing
    time.sleep(1.0)
    print("went on")


@app.command()
def other():
    pass


app(["wait"])
"""


def ended(number: int) -> subprocess.CompletedProcess[str]:
    words = [sys.executable, "-c", COMMAND.format(number=number)]
    return subprocess.run(
        words, capture_output=True, text=True, check=False, preexec_fn=heed_interrupts
    )


@pytest.mark.parametrize("name", ["SIGINT", "SIGTERM", "SIGHUP"])
def test_an_interrupt_that_python_drops_still_ends_the_command(name: str) -> None:
    got = ended(getattr(signal, name))
    assert got.returncode == 130
    assert "Traceback" not in got.stderr
    assert "went on" not in got.stdout


def test_another_error_that_python_drops_is_told_as_ever() -> None:
    got = ended(0)
    assert got.returncode == 0
    assert "not an interrupt" in got.stderr
    assert "went on" in got.stdout
