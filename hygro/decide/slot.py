"""A slot: how values of one quantity are read, and how one is put into the tables of a run."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from hygro import fields
from hygro.decide.tree import Tables
from hygro.errors import InputError
from hygro.types import Plain

Put = Callable[[Tables, Plain], Tables]


class Slot(NamedTuple):
    """Where values of a quantity go.

    Attributes
    ----------
    name : str
        As the study names it.
    quantity : str
        A name in `QUANTITIES`; empty where it has no unit, or none that is declared.
    read : callable
        From what was written to the settled value, a number in SI where it is one. Raises
        `InputError` with value, bound and likely cause.
    put : callable
        The tables of a run with a settled value in them.
    now : float or None
        What the run as written has there; None where that is no number. [SI]
    """

    name: str
    quantity: str
    read: Callable[[Plain], Plain]
    put: Put
    now: float | None = None


def number_slot(
    name: str,
    quantity: str,
    bounds: tuple[float, float],
    put: Put,
    *,
    likely: str = "",
    now: float | None = None,
) -> Slot:
    """Return the slot of a number with a unit and bounds in SI, both included."""

    def read(value: Plain) -> float:
        try:
            return fields.read(value, quantity, *bounds, likely=likely)
        except InputError as error:
            raise InputError(f"{name}: {error}") from None

    return Slot(name, quantity, read, put, now)
