"""Panels of the face that decides over time: quantity, limit, and which face each draws."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np

from hygro.study.trace import Array, Trace

WEEK = 7
"""Days over which the humidity is smoothed for the eye."""
DECIDES = "the face that decides"
_AT = " at {face}"


class Panel(NamedTuple):
    """A quantity over time, its limit, and the axis that it is drawn on."""

    words: str
    """With `_AT` where it is that of a face."""
    values: Callable[[Trace], Array | None]
    limit: float
    limit_words: str
    floor: float
    least_top: float

    @property
    def at_face(self) -> bool:
        """Whether it is that of a face."""
        return _AT in self.words

    @property
    def quantity(self) -> str:
        """What is drawn, without place and unit."""
        return self.words.replace(_AT, "").split(",")[0]

    def title(self, face: str = DECIDES) -> str:
        """What is drawn, where and in which unit."""
        return self.words.replace("{face}", face)

    def title_of(self, runs: Sequence[tuple[str, Trace]]) -> str:
        """`title`, with the face where all runs are drawn at one."""
        faces = _faces(runs)
        return self.title(faces[0] if len(faces) == 1 else DECIDES)

    def labels(self, runs: Sequence[tuple[str, Trace]]) -> list[str]:
        """Labels of the lines; with its face each, where the lines are of several."""
        if not self.at_face or len(_faces(runs)) < 2:
            return [label for label, _ in runs]
        return [f"{label} ({short_face(found)})" for label, found in runs]


MOULD = Panel(f"Mould index{_AT}", lambda t: t.mould, 3.0, "3", 0.0, 3.5)
PANELS = (
    Panel(
        "Moisture content of the sheathing, % by mass",
        lambda t: None if t.moisture is None else 100.0 * t.moisture,
        20.0,
        "20 %, common practice",
        0.0,
        25.0,
    ),
    MOULD,
    Panel(
        f"Relative humidity{_AT}, %, 7-day mean",
        lambda t: 100.0 * smooth(t.humidity, WEEK),
        80.0,
        "80 %, usual threshold",
        20.0,
        100.0,
    ),
)


def short_face(found: Trace) -> str:
    """The face that is drawn; of the sheathing without its name."""
    return found.face.removeprefix(f"{found.sheathing}, ")


def face_words(runs: Sequence[tuple[str, Trace]]) -> str:
    """The faces that are drawn, where there are several with the runs of each."""
    faces = _faces(runs)
    if len(faces) < 2:
        return "".join(faces)
    of = ((face, [label for label, found in runs if found.face == face]) for face in faces)
    return "; ".join(f"{face}: {', '.join(labels)}" for face, labels in of)


def _faces(runs: Sequence[tuple[str, Trace]]) -> list[str]:
    return list(dict.fromkeys(found.face for _, found in runs if found.face))


def smooth(values: Array, days: int) -> Array:
    """Mean over the days that end with each day; the first ones over the days so far."""
    total = np.concatenate(([0.0], np.cumsum(values)))
    end = np.arange(1, len(values) + 1)
    start = np.maximum(0, end - days)
    return np.asarray((total[end] - total[start]) / (end - start))
