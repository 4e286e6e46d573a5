"""A row of a variable table, and what to say of a value out of its bounds. Knows no table."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

POINT, MEAN = "time: point", "time: mean"
KELVIN = (180.0, 400.0)  # coldest air on record is 184 K; dark cladding in the sun stays below 400
PASCAL = (0.0, 1.0e5)
BLOCK = 32768
"""Values that are compared with both bounds while they are near the processor."""
RAIN = (0.0, 0.1)  # 0.1 kg/(m²·s) is 360 mm/h on the wall


@dataclass(frozen=True)
class Variable:
    """One row of a table: everything a reader needs to know about one array of a Dataset.

    Attributes
    ----------
    name, unit, dims, long_name : str, str, tuple of str, str
        Name in the Dataset, UDUNITS unit ("" for text and time), dimensions, plain meaning.
    cell_methods : str
        CF averaging note: ``time: point`` or ``time: mean`` (of the hour that ends at the stamp).
    low, high : float or None
        Plausible bounds in the unit of the row, both included.
    kind : str
        "coordinate" or "variable".
    dtype : str
        Kind of values: "float", "int", "str" or "time".
    optional : bool
        True where a Dataset without this array is still complete (no gap, no ice).
    cause : str
        Likely cause of a value out of bounds.
    source : str
        Where its values and what defines them are from; empty where the run says it.
    """

    name: str
    unit: str
    dims: tuple[str, ...]
    long_name: str
    cell_methods: str = ""
    low: float | None = None
    high: float | None = None
    kind: Literal["coordinate", "variable"] = "variable"
    dtype: Literal["float", "int", "str", "time"] = "float"
    optional: bool = False
    cause: str = ""
    source: str = ""

    @property
    def first_is_nan(self) -> bool:
        """True for means of the hour, which have no value at the first instant."""
        return self.cell_methods == MEAN

    @property
    def attrs(self) -> dict[str, str]:
        """Attributes for the array in a Dataset: CF names, text only.

        Bounds are not among them: readers hide what lies outside a ``valid_range``.
        """
        attrs = {
            "long_name": self.long_name,
            "units": self.unit,
            "cell_methods": self.cell_methods,
            "source": self.source,
        }
        return {key: text for key, text in attrs.items() if text}

    def first_outside(self, values: NDArray[np.float64]) -> tuple[int, ...] | None:
        """Index of the first value out of bounds; not-a-number is, but for `first_is_nan`."""
        if self.low is None or self.high is None or not values.size:
            return None
        if self._inside(values):
            return None
        bad = ~((values >= self.low) & (values <= self.high))
        if self.first_is_nan:
            bad[0] &= ~np.isnan(values[0])
        where = np.argwhere(bad)
        return tuple(int(index) for index in where[0]) if len(where) else None

    def _inside(self, values: NDArray[np.float64]) -> bool:
        """Whether no value is out of bounds, of which not-a-number is one."""
        assert self.low is not None
        assert self.high is not None
        flat = values.reshape(-1)
        for first in range(0, flat.size, BLOCK):
            part = flat[first : first + BLOCK]
            # where a value is not a number both comparisons fail
            if not (part.min() >= self.low and part.max() <= self.high):
                return False
        return True

    def fault(
        self,
        values: NDArray[np.float64],
        places: Mapping[str, Sequence[object] | NDArray[np.generic]],
    ) -> str | None:
        """What to say of the first value out of bounds, None where all are inside.

        Parameters
        ----------
        values : array
            In the unit of the row, dims in the order of the row.
        places : mapping
            Labels along dims; a dim that is absent is told by index.
        """
        index = self.first_outside(values)
        if index is None:
            return None
        where = ", ".join(
            f"{dim} {_told(places[dim][k]) if dim in places else k}"
            for dim, k in zip(self.dims, index, strict=True)
        )
        if np.isnan(values[index]):
            return f"'{self.name}' has no value at {where}"
        unit = f" {self.unit}" if self.unit not in ("", "1") else ""
        cause = f"; {self.cause}" if self.cause else ""
        return (
            f"'{self.name}' = {values[index]:.6g}{unit} at {where}: must be {self.low:g} to "
            f"{self.high:g}{unit}{cause}"
        )


def when(instant: np.datetime64) -> str:
    """An instant as a message writes it, ``2031-03-04T05:00``."""
    return str(np.datetime_as_string(instant, unit="m"))


def _told(label: object) -> str:
    return when(label) if isinstance(label, np.datetime64) else str(label)


def series(
    cell_methods: str,
    name: str,
    unit: str,
    dims: tuple[str, ...],
    long_name: str,
    bounds: tuple[float, float],
    *,
    optional: bool = False,
    cause: str = "",
) -> Variable:
    """A series over time: values at the instants (`POINT`) or means of the hours (`MEAN`)."""
    return Variable(
        name, unit, dims, long_name, cell_methods, *bounds, optional=optional, cause=cause
    )
