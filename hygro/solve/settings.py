"""Numerical settings of a run, as values with stated meaning."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from hygro.errors import InputError


@dataclass(frozen=True)
class Settings:
    """Settings of a run.

    Parameters
    ----------
    accuracy : "draft", "normal" or "fine"
        Density of the grid.
    tolerance : float
        Error aimed at per step, as a multiple of the default, which gives about 0.005 K and 1e-4 in
        rh (r.m.s.) on framed walls. [1]
    freezing : bool
        Water freezes in pores and condensate freezes.
    max_step : float
        Longest step. [s] No step straddles an hour.
    min_step : float
        Shortest step before the run stops with an error. [s]
    """

    accuracy: Literal["draft", "normal", "fine"] = "normal"
    tolerance: float = 1.0
    freezing: bool = True
    max_step: float = 3600.0
    min_step: float = 1e-4

    def __post_init__(self) -> None:
        """Check the bounds; raises `InputError`."""
        if self.accuracy not in ("draft", "normal", "fine"):
            raise InputError(f"accuracy = '{self.accuracy}': must be draft, normal or fine")
        if not 1e-6 <= self.tolerance <= 100:
            raise InputError(f"tolerance = {self.tolerance:g}: must be 1e-6 to 100")
        if not 0 < self.min_step <= self.max_step <= 3600:
            raise InputError(
                f"min_step = {self.min_step:g} s, max_step = {self.max_step:g} s: "
                "need 0 < min_step <= max_step <= 3600"
            )
