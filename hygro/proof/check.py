"""What a check says: our value, the reference, the error, the bound, where the reference is from.

Owns the values handed to the table, the figures and scripts; runs nothing and reads nothing.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Final, Literal, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]
Status = Literal["pass", "fail", "shown", "not run"]
Provenance = Literal[
    "exact solution",
    "own equations, other integrator",
    "own independent implementation",
    "value printed in a document, seen",
    "value remembered, not checked",
]
"""How the reference came about: the exact words of every row.

An implementation is our own where we wrote it, from a document or from memory, apart from what it
is held against. Only a value that was read counts as published; see `seen`. A row that holds one
run of the engine against another asks for a direction: it has no reference and no such word.
"""
PUBLISHED: Final = "value printed in a document, seen"
READ_IN: Final = ", read in "


@dataclass(frozen=True)
class Check:
    """One row of the table.

    Attributes
    ----------
    case, quantity : str
        Where it belongs, and what is compared.
    ours, reference : float or None
        At the place of the largest error, in `unit`.
    error, bound : float or None
        In `error_unit`; None where there is nothing to hold against.
    source : str
        Of the reference, or of the direction.
    provenance : str or None
        Of the reference; None where a direction between two runs is asked.
    reason : str
        Why the bound is what it is.
    passed : bool or None
        None where the row only shows something, or was not run.
    note : str
        What a reader should know: the place of the largest error, why it was not run.
    """

    case: str
    quantity: str
    ours: float | None
    reference: float | None
    error: float | None
    bound: float | None
    unit: str
    error_unit: str
    source: str
    provenance: Provenance | None
    reason: str
    passed: bool | None
    note: str = ""

    @property
    def status(self) -> Status:
        """One word for the table."""
        if self.passed is None:
            return "not run" if self.ours is None else "shown"
        return "pass" if self.passed else "fail"

    def to_dict(self) -> dict[str, object]:
        """Plain values for JSON; what is not finite is None."""
        found = asdict(self) | {"status": self.status}
        return {k: None if _odd(v) else v for k, v in found.items()}


def _odd(value: object) -> bool:
    return isinstance(value, float) and not np.isfinite(value)


class Origin(NamedTuple):
    """Where a reference comes from; without provenance where a direction does."""

    source: str
    provenance: Provenance | None


def seen(document: str, text: str) -> Origin:
    """A value that was read: in the document itself, or in a text that quotes it, by name."""
    return Origin(f"{document}{READ_IN}{text}", PUBLISHED)


class Line(NamedTuple):
    """One curve of a figure; a reference is drawn as marks, ours as a line or filled marks."""

    label: str
    x: Array
    y: Array
    reference: bool = False
    points: bool = False


class Picture(NamedTuple):
    """Data of a figure: ours against the reference."""

    name: str
    title: str
    x_label: str
    y_label: str
    lines: tuple[Line, ...]
    log: bool = False


class Outcome(NamedTuple):
    """What running a case leaves."""

    checks: tuple[Check, ...]
    pictures: tuple[Picture, ...] = ()


def compare(
    case: str,
    quantity: str,
    ours: ArrayLike,
    reference: ArrayLike,
    bound: float,
    *,
    unit: str,
    origin: Origin,
    reason: str,
    relative: bool = False,
    scale: float | None = None,
    at: ArrayLike | None = None,
    at_unit: str = "m",
    note: str = "",
) -> Check:
    """Compare numbers with a reference and keep the place of the largest error.

    Parameters
    ----------
    bound : float
        In `unit`; in % with `relative` (of the reference at each point) or `scale`.
    scale : float, optional
        What errors are taken relative to, e.g. the range of the reference. [unit]
    at : array, optional
        Places of the numbers, for the note.
    """
    a, b = np.broadcast_arrays(np.asarray(ours, float), np.asarray(reference, float))
    error = np.abs(a - b).ravel()
    error_unit = unit
    if relative or scale is not None:
        error = 100.0 * error / (np.abs(b).ravel() if relative else scale)
        error_unit = "% of range" if scale is not None else "%"
    # a missing value is the worst of all, and fails
    worst = int(np.argmax(np.where(np.isnan(error), np.inf, error)))
    if at is not None:
        place = np.broadcast_to(np.asarray(at, float), a.shape).ravel()[worst]
        note = "; ".join(x for x in (f"worst at {place:g} {at_unit}", note) if x)
    largest = float(error[worst])
    return Check(
        case, quantity, float(a.ravel()[worst]), float(b.ravel()[worst]), largest, bound, unit,
        error_unit, *origin, reason, bool(largest <= bound), note,
    )  # fmt: skip


def below(
    case: str,
    quantity: str,
    ours: float,
    limit: float,
    *,
    unit: str,
    origin: Origin,
    reason: str,
    note: str = "",
) -> Check:
    """An inequality: ours must lie below `limit` (a number, or the other run's value)."""
    return Check(
        case, quantity, float(ours), float(limit), None, None, unit, unit, *origin,
        reason, bool(ours < limit), note or "ours must be below the reference",
    )  # fmt: skip


def above(
    case: str,
    quantity: str,
    ours: float,
    limit: float,
    *,
    unit: str,
    origin: Origin,
    reason: str,
    note: str = "",
) -> Check:
    """An inequality: ours must lie above `limit`."""
    return Check(
        case, quantity, float(ours), float(limit), None, None, unit, unit, *origin,
        reason, bool(ours > limit), note or "ours must be above the reference",
    )  # fmt: skip


def shown(
    case: str,
    quantity: str,
    ours: float,
    reference: float | None,
    *,
    unit: str,
    origin: Origin,
    note: str = "",
) -> Check:
    """A row that only shows numbers side by side and decides nothing."""
    error = None if reference is None else abs(ours - reference)
    return Check(
        case, quantity, float(ours), reference, error, None, unit, unit, *origin, "", None, note
    )


def not_run(case: str, quantity: str, why: str, origin: Origin) -> Check:
    """A row that could not be run here; it does not count as passed."""
    return Check(
        case, quantity, None, None, None, None, "", "", *origin, "", None, f"not run: {why}"
    )


def broken(case: str, why: str) -> Check:
    """A case that ended with an error: a failure."""
    return Check(
        case, "the case runs to its end", None, None, None, None, "", "", "", None, "", False, why
    )
