"""What a command answers when something goes wrong: a line on stderr and an exit code.

Owns the exit codes and the last-resort handler; nothing that a user meets is a traceback.
"""

from __future__ import annotations

import _thread
import atexit
import gc
import os
import re
import signal
import sys
import tempfile
import threading
import traceback
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, NoReturn

import typer
from typer.core import TyperGroup

from hygro.terminal import say, saying, write_anywhere

OVER_LIMIT, BAD_INPUT, IN_PART, OUR_FAULT, INTERRUPTED = 1, 2, 3, 70, 130
AGAIN = 0.05
"""After so long an interrupt that was dropped comes again. [s]"""


class Helped(TyperGroup):
    """Commands whose help is their docstring, its paragraphs wrapped anew, its brackets as text."""

    def __init__(self, **keys: Any) -> None:
        super().__init__(**keys)
        for command in self.commands.values():
            command.help = _paragraphs(command.help or "")
            for param in command.params:
                if getattr(param, "help", None):
                    param.help = _paragraphs(param.help)  # type: ignore[attr-defined]


def _paragraphs(text: str) -> str:
    """Each paragraph in one line; a bracket is no markup."""
    joined = (" ".join(part.split()) for part in text.split("\n\n"))
    return re.sub(r"(?<!\\)\[(?=[a-z])", r"\\[", "\n\n".join(joined))


class Group(Helped):
    """Runs a command and turns what it raises into lines and an exit code."""

    def invoke(self, ctx: Any) -> Any:
        """Run the command; raises only what ends the process in good order."""
        # Loading makes some 300 000 lasting objects; garbage is first looked for after it.
        gc.set_threshold(500_000, 20, 20)
        gc.callbacks.append(_seldom)
        # At exit the OS frees everything; skipping the last collection saves 0.2 s.
        atexit.register(gc.freeze)
        from weather.kept import keeping

        write_anywhere()
        try:
            kept = keeping(_beside_kernels)
            with _ended_like_ctrl_c(), _heard_again(), kept, saying("hygro"):
                return super().invoke(ctx)
        except (typer.Exit, typer.Abort):
            raise
        except KeyboardInterrupt:
            say("stopped; files already written are complete")
            raise typer.Exit(INTERRUPTED) from None
        except Exception as error:
            if hasattr(error, "exit_code"):  # a wrong option, which typer answers
                if hasattr(error, "message"):
                    error.message = _in_plain_words(str(error.message))
                raise
            raise typer.Exit(_answer(error)) from None


def _seldom(*_: object) -> None:
    """Let garbage be looked for sooner from now on, though not as often as is usual."""
    gc.callbacks.remove(_seldom)
    gc.set_threshold(100_000, 20, 20)


def _beside_kernels() -> Path | None:
    """Where weather is kept for the next command."""
    from hygro.solve.kernels.compiler import cache_folder

    folder = cache_folder()
    return None if folder is None else folder.with_name("weather")


def _in_plain_words(message: str) -> str:
    """What typer says of a wrong option, without the words of the library that checks it."""
    message = message.replace("Value error, ", "").replace("Input should be ", "must be ")
    return message.partition(", unable to parse")[0]


def _interrupt(*_: object) -> NoReturn:
    raise KeyboardInterrupt


@contextmanager
def _ended_like_ctrl_c() -> Iterator[None]:
    """TERM and HUP end a command as Ctrl-C does: its workers with it, its scraps removed."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    numbers = [getattr(signal, name) for name in ("SIGTERM", "SIGHUP") if hasattr(signal, name)]
    # One that is ignored stays ignored: so nohup asks.
    mine = [number for number in numbers if signal.getsignal(number) is signal.SIG_DFL]
    for number in mine:
        signal.signal(number, _interrupt)
    try:
        yield
    finally:
        for number in mine:
            signal.signal(number, signal.SIG_DFL)


@contextmanager
def _heard_again() -> Iterator[None]:
    """Raise an interrupt anew that came where Python drops it: while an object is being removed."""
    before = sys.unraisablehook

    def dropped(what: sys.UnraisableHookArgs) -> None:
        if isinstance(what.exc_value, KeyboardInterrupt):
            threading.Timer(AGAIN, _thread.interrupt_main).start()  # not in here, for the same end
        else:
            before(what)

    sys.unraisablehook = dropped
    try:
        yield
    finally:
        sys.unraisablehook = before


def _answer(error: Exception) -> int:
    """Say what went wrong and return the exit code."""
    text = _can_be_mended(error)
    if text is None:
        say(f"internal fault: {_first_line(error)}; details in {_log(error)}")
        return OUR_FAULT
    for line in text.splitlines():
        say(f"error: {line}")
    return BAD_INPUT


def _can_be_mended(error: Exception) -> str | None:
    """Return what to tell the user, None for a fault of ours."""
    from hygro.errors import HygroError

    if isinstance(error, HygroError):
        return str(error)
    if isinstance(error, OSError):
        place = f"{error.filename}: " if error.filename else ""
        return f"{place}{error.strerror or error}"
    if isinstance(error, MemoryError):
        return "memory ran out; fewer years or walls at a time, or --processes 1, need less"
    if isinstance(error, ValueError) and "null byte" in str(error):
        return "a file name holds a NUL character"
    return None


def _first_line(error: Exception) -> str:
    lines = str(error).splitlines()
    return f"{type(error).__name__}: {lines[0][:150]}" if lines else type(error).__name__


def _log(error: Exception) -> str:
    """Leave the traceback in a file of its own and return its name."""
    try:
        handle, name = tempfile.mkstemp(prefix="hygro-fault-", suffix=".log")
        with os.fdopen(handle, "w", encoding="utf-8", errors="backslashreplace") as log:
            log.write(f"{sys.argv}\n")
            log.writelines(traceback.format_exception(error))
    except OSError:
        return "no file: none could be written"
    return name
