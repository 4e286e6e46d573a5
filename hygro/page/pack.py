"""Numbers in few letters: quantised, differences along time, deflated, base64.

`assets/pack.js` is the other half.
"""

from __future__ import annotations

import base64
import zlib
from typing import TypedDict

import numpy as np
from numpy.typing import ArrayLike

from hygro.errors import InputError

HOLE = -32768
"""Stands for what is not a number."""


class Packed(TypedDict):
    """Numbers of a page: `rows` times `columns`, each a whole multiple of `step`."""

    rows: int
    columns: int
    step: float
    data: str


def pack(values: ArrayLike, step: float) -> Packed:
    """Pack numbers of dims (time, place), rounded to whole steps.

    Each column becomes differences modulo 2^16 along time; the high bytes of all go before the low
    ones, which deflates to about a byte a number.

    Raises
    ------
    InputError
        A number beyond 32767 steps.
    """
    table = np.atleast_2d(np.asarray(values, dtype=float))
    with np.errstate(invalid="ignore"):
        whole = np.where(np.isnan(table), HOLE, np.rint(table / step))
    if (np.abs(whole[~np.isnan(table)]) > -HOLE - 1).any():
        raise InputError(f"pack: values up to {np.nanmax(np.abs(table)):g} in steps of {step:g}")
    numbers = whole.astype(np.int16).astype(np.uint16).T
    delta = np.diff(numbers, axis=1, prepend=np.uint16(0)).astype("<u2").ravel()
    raw = (delta >> 8).astype(np.uint8).tobytes() + (delta & 255).astype(np.uint8).tobytes()
    text = base64.b64encode(zlib.compress(raw, 9)).decode("ascii")
    return {"rows": table.shape[0], "columns": table.shape[1], "step": step, "data": text}


def unpack(packed: Packed) -> np.ndarray:
    """Return the numbers again, as the page reads them."""
    raw = np.frombuffer(zlib.decompress(base64.b64decode(packed["data"])), np.uint8)
    high, low = raw[: len(raw) // 2].astype(np.uint16), raw[len(raw) // 2 :].astype(np.uint16)
    delta = ((high << 8) | low).reshape(packed["columns"], packed["rows"])
    numbers = np.cumsum(delta, axis=1, dtype=np.uint16).astype(np.int16).T
    return np.where(numbers == HOLE, np.nan, numbers * packed["step"])
