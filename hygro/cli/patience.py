"""The progress of a study on the terminal: runs, wall-years per second, time left."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from rich.console import Console

from hygro.terminal import say
from hygro.units import count

if TYPE_CHECKING:
    from hygro.decide.runner import Progress


@contextmanager
def patience(command: str) -> Iterator[Callable[[Progress], None]]:
    """Show a bar on stderr if it is a terminal; say after an interruption how to go on.

    `command` is the one that goes on.
    """
    console, made = Console(stderr=True), 0
    last: Progress | None = None

    def heard(now: Progress) -> None:
        nonlocal last, made
        before = 0 if last is None else last.made
        # less than before: another round of the same question
        made += now.made - (before if now.made >= before else 0)
        last = now

    began = time.monotonic()
    try:
        if console.is_terminal:
            with _bar(console) as draw:

                def both(now: Progress) -> None:
                    heard(now)
                    draw(now)

                yield both
        else:
            yield heard
        if last is not None:
            if last.damaged:
                say(f"{last.damaged} stored results were damaged and are made again")
            say(f"{count(made, 'run')} made in {duration(time.monotonic() - began)}")
    except KeyboardInterrupt:
        if last is not None:
            say(f"{last.done} of {last.total} runs are finished and kept; {command} goes on")
        raise


@contextmanager
def _bar(console: Console) -> Iterator[Callable[[Progress], None]]:
    from rich import progress

    columns = (
        progress.TextColumn("runs"),
        progress.BarColumn(
            style="dim", complete_style="bold", finished_style="dim", pulse_style="dim"
        ),
        progress.MofNCompleteColumn(),
        progress.TextColumn("{task.fields[word]}"),
    )
    with progress.Progress(*columns, console=console, transient=True) as bar:
        task = bar.add_task("runs", total=None, word="")

        def draw(now: Progress) -> None:
            bar.update(task, total=now.total, completed=now.done, word=words(now))

        yield draw


def words(now: Progress) -> str:
    """Speed, time left and failures, as they stand beside the bar."""
    if not now.made:
        return ""
    left = (now.total - now.done) * now.seconds / now.made
    told = f"{now.rate:.1f} wall-years/s, {duration(left)} left"
    return told + (f", {now.failed} failed" if now.failed else "")


def duration(seconds: float) -> str:
    """Write a time as people say it."""
    if seconds < 90.0:
        return f"{seconds:.0f} s"
    minutes = seconds / 60.0
    return f"{minutes:.0f} min" if minutes < 90.0 else f"{minutes / 60.0:.1f} h"
