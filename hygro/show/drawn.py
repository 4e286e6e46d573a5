"""Figures as files: written in one move, with a mark by which they may be written again."""

from __future__ import annotations

from pathlib import Path

from matplotlib.figure import Figure

from hygro.atomic import replacing
from hygro.kinds import marked

_MARK = "drawn by hygro"
FIGURE = marked("a figure of this program", _MARK)
_WHERE = {".png": "Software", ".svg": "Creator", ".pdf": "Creator"}
"""Where a file says what made it, by its ending."""


def write(figure: Figure, path: Path) -> None:
    """Save a figure; raises `InputError` where it cannot be written, or another file is there."""
    with replacing(path, FIGURE) as temporary:
        metadata = {_WHERE[path.suffix]: _MARK}
        figure.savefig(temporary, format=path.suffix.lstrip("."), metadata=metadata)
