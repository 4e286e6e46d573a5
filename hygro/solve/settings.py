"""Numerical settings of a run. Owns their declaration."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from hygro.declare import declared
from hygro.errors import InputError, must_be
from hygro.fields import Count, Flag, within


@declared
class Settings:
    """How a run is computed.

    Parameters
    ----------
    accuracy : {"draft", "normal", "fine"}
        Density of the grid.
    parts : int
        Every cell of that grid is split in so many: 2 halves all of them and keeps every place.
    tolerance : float
        Error aimed at per step, as a multiple of the default, which leaves less than the default
        grid does (`docs/numerics.md`); smaller is slower. [1]
    freezing : bool
        Water freezes in pores and condensate freezes.
    max_step : float
        Longest step. [s] At 3600, the default, steps cross hours whose loads go on evenly.
    min_step : float
        Shortest step before the run stops with an error. [s]
    """

    accuracy: Literal["draft", "normal", "fine"] = "normal"
    parts: Annotated[Count, Field(ge=1, le=64)] = 1
    tolerance: Annotated[float, *within(1e-6, 100.0, "1 is the default")] = 1.0
    freezing: Flag = True
    max_step: Annotated[float, *within(1e-6, 3600.0, "seconds")] = 3600.0
    min_step: Annotated[float, *within(1e-6, 3600.0, "seconds")] = 1e-4

    def __post_init__(self) -> None:
        """Refuse a shortest step above the longest."""
        if self.min_step > self.max_step:
            raise InputError(
                f"min_step = {self.min_step:g} s: must be at most max_step = {self.max_step:g} s"
            )


def settings_of(given: Settings | None) -> Settings:
    """Return the settings of a run, the defaults where none are given.

    Raises
    ------
    InputError
        What is given is something else, a dict among them.
    """
    must_be(given, (Settings, type(None)), "settings", "hygro.Settings, left out for the defaults")
    return Settings() if given is None else given
