"""Two-dimensional walls by one-dimensional bounds: framing fractions, joints' and studs' U.

Owns the parallel-path and isothermal-planes rules; knows nothing of what the paths are made of.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from hygro.errors import InputError


class Path(NamedTuple):
    """One way through the wall from air to air."""

    share: float
    """Share of the area. [-]"""
    R: tuple[float, ...]
    """Resistances with both films, outside to inside; all paths have the same layers. [m²·K/W]"""


class Bounds(NamedTuple):
    """Resistance of an inhomogeneous component after ISO 6946:2017 (from memory). [m²·K/W]"""

    upper: float
    """Parallel paths: no lateral flow."""
    lower: float
    """Isothermal planes: free lateral flow at every interface."""

    @property
    def mean(self) -> float:
        """Arithmetic mean, the value ISO 6946 takes. [m²·K/W]"""
        return 0.5 * (self.upper + self.lower)

    @property
    def largest_error(self) -> float:
        """(upper − lower)/(2·mean); ISO 6946 gives the rule for ratios up to 1.5. [-]"""
        return (self.upper - self.lower) / (2.0 * self.mean)


def _checked(paths: Sequence[Path]) -> tuple[np.ndarray, np.ndarray]:
    shares = np.array([path.share for path in paths])
    if len({len(path.R) for path in paths}) != 1:
        raise InputError("framing: all paths need the same number of layers")
    if shares.size == 0 or np.any(shares < 0.0) or abs(shares.sum() - 1.0) > 1e-9:
        raise InputError(
            f"framing: share = {shares.tolist()}: must add up to 1 and not be negative"
        )
    R = np.array([path.R for path in paths])
    if not np.all(np.isfinite(R)) or np.any(R <= 0.0):
        raise InputError("framing: R must be finite and above 0 in every path")
    return shares, R


def parallel_path_resistance(paths: Sequence[Path]) -> float:
    """Area-weighted parallel paths: the upper limit R'_T of ISO 6946. [m²·K/W]"""
    shares, R = _checked(paths)
    return float(1.0 / np.sum(shares / R.sum(axis=1)))


def isothermal_planes_resistance(paths: Sequence[Path]) -> float:
    """Layer-wise parallel, then in series: the lower limit R''_T of ISO 6946. [m²·K/W]"""
    shares, R = _checked(paths)
    return float(np.sum(1.0 / np.sum(shares[:, None] / R, axis=0)))


def resistance_bounds(paths: Sequence[Path]) -> Bounds:
    """Both limits of ISO 6946. [m²·K/W]"""
    return Bounds(parallel_path_resistance(paths), isothermal_planes_resistance(paths))


def framed_paths(
    outer: Sequence[float], cavity: float, frame: float, inner: Sequence[float], *, fraction: float
) -> tuple[Path, Path]:
    """Clear and frame path of a framed layer between common layers.

    Parameters
    ----------
    outer, inner : sequence of float
        Resistances outside and inside of the framed layer, films included. [m²·K/W]
    cavity, frame : float
        Resistance of the cavity insulation and of the framing member. [m²·K/W]
    fraction : float
        Share of area that is framing. [-]
    """
    if not 0.0 <= fraction < 1.0:
        raise InputError(f"framing: fraction = {fraction}: must be 0–1; is it in percent?")
    clear = Path(1.0 - fraction, (*outer, cavity, *inner))
    return clear, Path(fraction, (*outer, frame, *inner))


def effective_layer_resistance(paths: Sequence[Path], common: float) -> float:
    """What a framed layer adds to the common layers, by parallel path. [m²·K/W]

    Parameters
    ----------
    paths : sequence of Path
        Shares add up to 1.
    common : float
        Sum of the resistances all paths share, films included. [m²·K/W]
    """
    return parallel_path_resistance(paths) - common
