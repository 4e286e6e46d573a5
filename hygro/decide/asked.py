"""Studies as a command asks for them: by the name of one, or by what varies on the command line."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from hygro.case import Case
from hygro.decide.base import base_of_case
from hygro.decide.default_distributions import default_distributions
from hygro.decide.study import HERE, Study, store_file, study_of
from hygro.errors import InputError
from hygro.paths import check_number, split_path
from hygro.study.plan import file_names, slug
from hygro.types import Data, Plain


def asked_study(
    case: Case,
    name: str | None,
    asked: Mapping[str, str | None],
    *,
    wall: str | None,
    store: Path | None,
    folder: Path = HERE,
    **more: Plain,
) -> Study:
    """Return the study that a command asks for.

    Parameters
    ----------
    case : Case
        With its studies.
    name : str or None
        Of a study of the case; None where everything stands in `asked`.
    asked : mapping
        By option: 'name, low, high' with the number of steps after it where it is not 20.
    wall, store
        See `Study`.
    folder : Path
        Where a store that is left out lies; that of a study of the case lies in the working
        folder, where `hygro study` looks for it.

    Raises
    ------
    InputError
        Neither or both ways were used, or a text cannot be read.
    """
    given = {option: text for option, text in asked.items() if text is not None}
    if name is not None:
        if given:
            told = ", ".join(f"--{option}" for option in given)
            raise InputError(f"study '{name}' says what varies: leave out {told}, or the name")
        changes = {"wall": wall, **more} if wall else more
        return study_of(case, name, store=store_file(store, name), **changes)
    missing = [f"--{option}" for option, text in asked.items() if text is None]
    if missing:
        raise InputError(
            f"say what varies: {', '.join(missing)}, or the name of a study of the case"
        )
    vary = dict(_range(option, text) for option, text in given.items())
    chosen = case.wall(wall).name
    called = _called(case, chosen, *vary)
    file = store_file(store, called, folder)
    return Study(case, vary=vary, wall=chosen, name=called, store=file, **more)


def _called(case: Case, wall: str, *words: str) -> str:
    """Name of a study of a wall; no two walls of a case have the same."""
    stems = file_names([item.name for item in case.walls])
    return f"{slug(' '.join(words))}-{stems[wall]}"


def _range(option: str, text: str) -> tuple[str, Data]:
    """A quantity and its range from 'name, low, high' or 'name, low, high, steps'."""
    name, *ends = [part.strip() for part in text.split(",")]
    if len(ends) not in (2, 3) or not name or not all(ends):
        raise InputError(f"--{option} {text!r}: must look like 'outboard_share, 10 %, 90 %'")
    how: Data = {"low": _number(ends[0]), "high": _number(ends[1])}
    if len(ends) == 3:
        if not ends[2].isdecimal():
            raise InputError(f"--{option} {text!r}: the number of steps must be a whole number")
        how["steps"] = int(ends[2])
    return name, how


def _number(text: str) -> float | str:
    try:
        return float(text)
    except ValueError:
        return text


def sampled_study(
    case: Case,
    name: str | None,
    *,
    wall: str | None,
    samples: int | None,
    store: Path | None,
    folder: Path = HERE,
    device: str = "cpu",
) -> Study:
    """Return the study of a sample: one of the case, or that of the shipped distributions.

    Raises
    ------
    InputError
        The case has no such study, or has several walls and none was named.
    """
    more: Data = {"device": device} | ({} if samples is None else {"samples": samples})
    if name is not None:
        changes = {"wall": wall, **more} if wall else more
        return study_of(case, name, store=store_file(store, name), **changes)
    chosen = case.wall(wall).name
    vary = default_distributions(base_of_case(case, chosen))
    called = _called(case, chosen, "sample")
    file = store_file(store, called, folder)
    return Study(case, vary=vary, wall=chosen, leaks="all", name=called, store=file, **more)


def limit_study(
    case: Case,
    path: str,
    low: str,
    high: str,
    *,
    wall: str | None,
    store: Path | None,
    folder: Path = HERE,
    device: str = "cpu",
) -> Study:
    """Return the study of one number of a case over a range.

    Raises
    ------
    InputError
        The path leads nowhere or into another wall, or the range is none.
    """
    check_number(path)
    led = _named_wall(case, path)
    chosen = led or case.wall(wall).name
    if wall is not None and case.wall(wall).name != chosen:
        raise InputError(f"path {path!r}: leads to another wall than '{wall}', which is judged")
    steps = split_path(path)[2 if led else 0 :]
    ends = map(str, reversed(steps))  # what tells paths apart comes first: names are cut
    called = _called(case, chosen, "limit", *ends)
    file = store_file(store, called, folder)
    vary = {path: {"low": _number(low), "high": _number(high)}}
    return Study(case, vary=vary, wall=chosen, name=called, store=file, device=device)


def _named_wall(case: Case, path: str) -> str | None:
    """Return the name of the wall that a path leads into, None where it leads elsewhere."""
    head, *rest = split_path(path)
    return case.wall(str(rest[0])).name if head == "wall" and rest else None


def years_study(
    case: Case,
    *,
    wall: str | None,
    store: Path | None,
    folder: Path = HERE,
    device: str = "cpu",
) -> Study:
    """Return the study of all years of the weather of a case."""
    chosen = case.wall(wall).name
    base = base_of_case(case, chosen)
    count = base.climates.years(base.tables["climate"])
    if count < 2:
        raise InputError(
            f"{case.path}: its weather has one year; give several files, or generate years"
        )
    called = _called(case, chosen, "years")
    file = store_file(store, called, folder)
    return Study(case, vary={"year": list(range(1, count + 1))}, wall=chosen, name=called,
                 store=file, device=device)  # fmt: skip
