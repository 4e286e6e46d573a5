"""Types of the arrays that the package passes around."""

from __future__ import annotations

from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Times = NDArray[np.datetime64]
Whole = NDArray[np.int64]
Flags = NDArray[np.bool_]
Value = TypeVar("Value", float, Array, NDArray[np.floating])
"""A number or an array of them; formulas give back what they are given."""
Numbers = float | Array
"""Either, where a formula mixes them."""
