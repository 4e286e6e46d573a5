"""The terminal: progress bars on stderr, tables and lines on stdout. A leaf; knows no content."""

from __future__ import annotations

import codecs
import io
import logging
import os
import sys
import textwrap
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress

from rich.console import Console, RenderableType

from hygro.errors import InputError

WIDE = 120
"""Columns where output goes to a file or pipe and COLUMNS says nothing."""
LONGEST = 300
"""Characters in a line of a message; more is wrapped. [1]"""
MOST = 2000
"""Characters of a message; the middle of a longer one is left out. [1]"""

_PLAIN = {
    "²": "2", "³": "3", "·": ".", "°": "deg ", "–": "-", "—": "-", "−": "-", "…": "...", "≥": ">=",
    "≤": "<=", "─": "-", "━": "-", "│": "|", "×": "x", "→": "->", "±": "+/-", "τ": "tau",
    "“": '"', "”": '"', "’": "'", "‘": "'",
}  # fmt: skip
"""What stands for a character that the terminal cannot write; "?" for all others."""


def _plain(error: UnicodeError) -> tuple[str, int]:
    if not isinstance(error, UnicodeEncodeError):
        raise error
    found = error.object[error.start : error.end]
    return "".join(_PLAIN.get(c, "?") for c in found), error.end


codecs.register_error("hygro-plain", _plain)


def write_anywhere() -> None:
    """Let stdout and stderr replace what their encoding does not have, instead of failing."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="hygro-plain")


def show(pieces: Iterable[RenderableType], *, width: int = WIDE) -> None:
    """Print tables and lines, texts as they are.

    `width` holds where output goes to a file or pipe and COLUMNS says nothing.
    """
    there = Console()
    buffer = io.StringIO()
    if there.is_terminal:
        console = Console(file=buffer, highlight=False, force_terminal=True, width=there.width)
    else:
        console = Console(file=buffer, highlight=False, width=_columns(width))
    for piece in pieces:
        console.print(piece, markup=False)
        write(buffer.getvalue())
        buffer.seek(0)
        buffer.truncate()


def _columns(otherwise: int) -> int:
    given = os.environ.get("COLUMNS", "")
    return max(int(given), 20) if given.isdecimal() else otherwise


def write(text: str) -> None:
    """Write to stdout. A reader that has gone is no error: the rest goes nowhere.

    Raises
    ------
    InputError
        stdout cannot be written, for example to a full disk.
    """
    try:
        sys.stdout.write(text)
        sys.stdout.flush()
    except BrokenPipeError:
        _silence()
    except OSError as error:
        _silence()
        raise InputError(f"standard output: cannot be written: {error.strerror}") from error


def _silence() -> None:
    """Send what is still buffered nowhere; Python would fail on it once more at its end."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, sys.stdout.fileno())
    os.close(nowhere)


def say(message: str) -> None:
    """Write a message to stderr, in lines of at most `LONGEST`; never fails."""
    if len(message) > MOST:
        message = f"{message[: MOST // 2]} ... {message[-MOST // 2 :]}"
    lines = textwrap.wrap(message, LONGEST, subsequent_indent="  ", break_on_hyphens=False)
    with suppress(OSError, ValueError):
        sys.stderr.write("\n".join(lines) + "\n")
        sys.stderr.flush()


@contextmanager
def saying(logger: str) -> Iterator[None]:
    """Say on stderr, if it is a terminal, what a logger is told of its course."""
    log, handler = logging.getLogger(logger), _Saying()
    before = log.level
    log.addHandler(handler)
    log.setLevel(logging.INFO)
    try:
        yield
    finally:
        log.setLevel(before)
        log.removeHandler(handler)


class _Saying(logging.Handler):
    def emit(self, record: logging.LogRecord) -> None:
        if Console(stderr=True).is_terminal:
            say(record.getMessage())


@contextmanager
def progress(names: Sequence[str]) -> Iterator[Callable[[int, float, str], None]]:
    """Progress bars on stderr if it is a terminal. Yields a callback (task, fraction, text)."""
    console = Console(stderr=True)
    if not console.is_terminal:
        yield lambda _number, _fraction, _word: None
        return
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

    columns = (
        TextColumn("{task.description}"),
        BarColumn(style="dim", complete_style="bold", finished_style="dim", pulse_style="dim"),
        TextColumn("{task.percentage:3.0f} %"),
        TextColumn("{task.fields[word]}"),
        TimeElapsedColumn(),
    )
    with Progress(*columns, console=console, transient=True) as bar:
        tasks = [bar.add_task(name, total=1.0, start=False, word="") for name in names]

        def tell(number: int, fraction: float, word: str) -> None:
            task = tasks[number]
            if fraction < 1.0 or not bar.tasks[number].started:
                bar.start_task(task)
            bar.update(task, completed=fraction, word=word[:10])

        yield tell
