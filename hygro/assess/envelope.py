"""The envelope of a section: least, mean and most over depth, for each calendar month."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import xarray as xr

from hygro.assess.field import Array, Band, depth_time
from hygro.errors import must_be_one_of


@dataclass(frozen=True)
class Envelope:
    """A field over depth by calendar month.

    Attributes
    ----------
    bands : tuple of Band, (m,)
        Outside to inside.
    least, mean, most : array, (12, m)
        Of daily means; not a number where the record has no such month.
    """

    bands: tuple[Band, ...]
    least: Array
    mean: Array
    most: Array


def envelope(ds: xr.Dataset, quantity: str = "relative_humidity") -> Envelope:
    """Return the envelope of a field.

    Parameters
    ----------
    ds : Dataset
        A result.
    quantity : str
        "relative_humidity" [1], "temperature" [K] or "water_content" [kg/m³].

    Raises
    ------
    InputError
        Another quantity.
    """
    found = depth_time(ds, step=24)
    must_be_one_of(quantity, tuple(found.fields), "quantity")
    values = found.fields[quantity]
    days = found.start.astype("datetime64[D]") + np.arange(len(values))
    month = days.astype("datetime64[M]").astype(int) % 12

    def of_month(reduce: object) -> Array:
        rows = [
            reduce(values[month == m], axis=0)  # type: ignore[operator]
            if (month == m).any()
            else np.full(values.shape[1], np.nan)
            for m in range(12)
        ]
        return np.array(rows)

    return Envelope(found.bands, of_month(np.min), of_month(np.mean), of_month(np.max))
