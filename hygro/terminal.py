"""The terminal: progress bars on stderr, tables and lines on stdout. A leaf; knows no content."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager

from rich.console import Console, RenderableType

WIDE = 120
"""Columns where output goes to a file or pipe: a table needs its columns, lines may be long."""


def show(pieces: Iterable[RenderableType], *, width: int = WIDE) -> None:
    """Print tables and lines, texts as they are; `width` holds where there is no terminal."""
    console = Console(highlight=False)
    if not console.is_terminal:
        console = Console(highlight=False, width=width)
    for piece in pieces:
        console.print(piece, markup=False)


@contextmanager
def progress(names: Sequence[str]) -> Iterator[Callable[[int, float, str], None]]:
    """Bars on stderr while it is a terminal; they leave nothing behind.

    Gives what is to be called with the number of a task, the fraction done and a word.
    """
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
