"""The arrays of a run as ratings read them: plain numpy, each checked once, derived ones kept.

Owns no formula. A rating takes a record, `xr.Dataset` or `Hourly`, and reads it by `select`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import wraps
from typing import Any, Concatenate, ParamSpec, TypeVar

import numpy as np
import xarray as xr

from hygro.errors import InputError
from hygro.record.check import check_arrays
from hygro.record.dataset import to_arrays
from hygro.record.marched import Marched
from hygro.record.provenance import run_attributes, stored_wall
from hygro.record.variables import VARIABLES
from hygro.wall.wall import Wall

P = ParamSpec("P")
T = TypeVar("T")


class Hourly:
    """The arrays of a record, or of a run of which none is made.

    Attributes
    ----------
    source : Dataset or mapping of array
        By the names of `hygro.record.VARIABLES`, dimensions in their order.
    attrs : mapping
        Attributes of the record.
    sound : bool
        Whether all values are known to be within the bounds of `VARIABLES`.
    """

    def __init__(
        self,
        source: xr.Dataset | Mapping[str, Any],
        attrs: Mapping[Any, Any],
        wall: Wall | None = None,
        *,
        sound: bool = False,
    ) -> None:
        self.source = source
        self.attrs = attrs
        self.sound = sound
        self._wall = wall
        self.checked: dict[str, Any] = {}
        self._kept: dict[Any, Any] = {}
        self._lasting: dict[Any, Any] = {}

    @property
    def wall(self) -> Wall | None:
        """The wall that was run; None where the record holds none."""
        if self._wall is None and "wall" in self.attrs:
            self._wall = stored_wall(self)
        return self._wall

    def keep(self, key: Any, make: Callable[[], T]) -> T:
        """Return what is kept under a key, made where nothing is. Nobody changes it."""
        return _kept_in(self._kept, key, make)

    def keep_for_all_hours(self, key: Any, make: Callable[[], T]) -> T:
        """`keep` of what depends on no hour: all parts of a record share it."""
        return _kept_in(self._lasting, key, make)

    def part(self, hours: slice) -> Hourly:
        """Return some of the instants; the whole where that is all of them."""
        count = len(self.source["time"])
        if hours.indices(count) == (0, count, 1):
            return self
        return self.keep(("part", hours.start, hours.stop), lambda: self._part(hours))

    def _part(self, hours: slice) -> Hourly:
        source = self.source
        if isinstance(source, xr.Dataset):
            source = source.isel(time=hours)
        else:
            source = {
                name: values[hours] if VARIABLES[name].dims[:1] == ("time",) else values
                for name, values in source.items()
            }
        found = Hourly(source, self.attrs, self._wall, sound=self.sound)
        found._lasting = self._lasting
        return found


def _kept_in(answers: dict[Any, Any], key: Any, make: Callable[[], T]) -> T:
    if key not in answers:
        answers[key] = make()
    found: T = answers[key]
    return found


Record = xr.Dataset | Hourly
"""What can be rated."""


def hourly(ds: Record) -> Hourly:
    """Return a record as `Hourly`; one that is made here forgets what is derived with it."""
    if isinstance(ds, Hourly):
        return ds
    if not isinstance(ds, xr.Dataset):
        raise InputError(f"result: expected an xarray Dataset, got {type(ds).__name__}")
    return Hourly(ds, ds.attrs)


def of_run(marched: Marched) -> Hourly:
    """Return the arrays of a run without a record.

    Raises
    ------
    SolveError
        A balance is open.
    RecordError
        A value is out of bounds.
    """
    wall, loads, _, run, known = marched
    attrs = {**run_attributes(wall, loads, run.closure, run.counters), **known}
    arrays = to_arrays(wall, loads, run)
    check_arrays(arrays, f"wall '{wall.name}'")
    return Hourly(arrays, attrs, wall, sound=True)


def cut(ds: Record, hours: slice) -> Record:
    """Return some of the instants of a record."""
    return ds.part(hours) if isinstance(ds, Hourly) else ds.isel(time=hours)


def kept(rating: Callable[Concatenate[Hourly, P], T]) -> Callable[Concatenate[Record, P], T]:
    """Let a rating take any record, and keep its answer beside the arrays that it is of."""
    return _remembered(rating, Hourly.keep)


def lasting(fact: Callable[Concatenate[Hourly, P], T]) -> Callable[Concatenate[Record, P], T]:
    """`kept` for what depends on no hour: all parts of a record share the answer."""
    return _remembered(fact, Hourly.keep_for_all_hours)


def _remembered(
    asked: Callable[Concatenate[Hourly, P], T], keep: Callable[[Hourly, Any, Callable[[], T]], T]
) -> Callable[Concatenate[Record, P], T]:
    @wraps(asked)
    def ask(ds: Record, /, *given: P.args, **more: P.kwargs) -> T:
        of = hourly(ds)
        key = (asked, given, tuple(more.items()))
        return keep(of, key, lambda: asked(of, *given, **more))

    return ask


def fixed(values: np.ndarray) -> np.ndarray:
    """Return an array that nobody can change, to be kept."""
    values.flags.writeable = False
    return values
