"""How workers come to be: on Linux as copies of a process that has imported what they need."""

from __future__ import annotations

import os
import signal
import sys
from contextlib import suppress
from multiprocessing import forkserver, get_context, resource_tracker
from multiprocessing.context import BaseContext

from hygro.errors import SolveError
from hygro.interrupts import interrupt_later

ENDED = "a process ended before its run was done; was memory short? try --processes 1"
_imported: set[int] = set()
"""Processes that have imported what workers need."""


def origin(module: str) -> BaseContext:
    """How workers come to be: on Linux as copies of a process that has imported a module.

    That process stays as long as this one, so that a second pool starts at once.
    """
    if sys.platform != "win32":
        with interrupt_later():
            resource_tracker.ensure_running()  # its start lets Ctrl-C through to what starts next
    if sys.platform != "linux":
        return get_context("spawn")
    context = get_context("forkserver")
    context.set_forkserver_preload([module])
    # it looks for modules where its surroundings say, and is to find those of this process
    before = os.environ.get("PYTHONPATH")
    os.environ["PYTHONPATH"] = os.pathsep.join(map(os.path.abspath, sys.path))
    try:
        with interrupt_later():
            forkserver.ensure_running()
    finally:
        del os.environ["PYTHONPATH"]
        if before is not None:
            os.environ["PYTHONPATH"] = before
    return context


def _server() -> int | None:
    """Number of the process that workers are copies of."""
    return forkserver._forkserver._forkserver_pid  # type: ignore[attr-defined]


def await_origin() -> None:
    """Wait, open to Ctrl-C, until what workers are copies of has imported its module.

    It hears no Ctrl-C itself, and might compile.

    Raises
    ------
    SolveError
        It ended.
    """
    server = _server()
    if server is None or server in _imported:
        return
    try:
        first = get_context("forkserver").Process(target=int)
        first.start()
        first.join()
    except (EOFError, ConnectionError) as error:
        raise SolveError(ENDED) from error
    except BaseException:
        with suppress(ProcessLookupError):
            os.kill(server, signal.SIGKILL)
        raise
    _imported.add(server)
