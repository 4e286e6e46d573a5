"""The errors a user can meet; those of weather share their base: one `except` catches all."""

from __future__ import annotations

import difflib
import os
from collections.abc import Iterable, Sequence
from pathlib import Path

from weather.errors import UserError

HygroError = UserError
"""Base of every error that the user can mend, `weather.WeatherError` among them."""


class InputError(HygroError):
    """An input (case file, material, weather, argument) is missing, malformed or out of bounds."""


class SolveError(HygroError):
    """The march could not go on; the message names date, place, residual and what to try."""


class RecordError(HygroError):
    """A result file is not one of ours, is damaged, or cannot be written."""


def brief(value: object) -> str:
    """Return a value as it is written in code, in at most 40 characters."""
    try:
        text = repr(value)
    except (ValueError, RecursionError):
        return "a number or table without end"
    return text if len(text) <= 40 else text[:37] + "..."


def must_be(value: object, kinds: type | tuple[type, ...], place: str, words: str) -> None:
    """Refuse an argument of another type; `words` say what it must be."""
    if not isinstance(value, kinds):
        raise InputError(f"{place}: is {type(value).__name__}: must be {words}")


def must_be_one_of(value: object, known: Sequence[str], place: str) -> None:
    """Refuse an argument that is none of some words."""
    if not (isinstance(value, str) and value in known):
        raise InputError(f"{place} = {brief(value)}: must be one of: {', '.join(known)}")


def file_path(value: object, place: str = "file") -> Path:
    """Return the path of a file that is given by its name; raises `InputError` for another type."""
    must_be(value, (str, os.PathLike), place, "the name of a file")
    return Path(value)  # type: ignore[arg-type]


MOST = 12
"""Known words that a message lists."""


def near_matches(sought: object, known: Iterable[str]) -> str:
    """Return a clause that offers the nearest known words, or lists some, of many the nearest."""
    word, names = str(sought), sorted(set(known))
    close = difflib.get_close_matches(word, names, n=3, cutoff=0.5)
    if close:
        return "did you mean " + " or ".join(f"'{name}'" for name in close) + "?"
    if len(names) <= MOST:
        return "known: " + _listed(names)
    nearest = sorted(names, key=lambda name: -difflib.SequenceMatcher(None, word, name).ratio())
    return "known: " + _listed(nearest[:MOST]) + ", …"


def _listed(names: list[str]) -> str:
    """Names in a row, in quotes where one holds a comma."""
    apart = any("," in name for name in names)
    return ", ".join(f"'{name}'" if apart else name for name in names)
