"""What a criterion sees: the rated part of a run and the choices made for it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import xarray as xr

from hygro.assess.data import text, times
from hygro.assess.growth import wood_layers
from hygro.assess.metal import MetalRating, metal_ratings
from hygro.assess.mould import Model
from hygro.assess.places import Sheathing


@dataclass(frozen=True, eq=False)
class Rated:
    """The rated part of a run.

    Attributes
    ----------
    record : Dataset
        The run without the days left out at its start.
    sheathing : Sheathing
        The layer judged as sheathing.
    mould_model, decline
        See `hygro.assess.mould_index`.
    """

    record: xr.Dataset
    sheathing: Sheathing
    mould_model: Model = "ojanen2010"
    decline: float | str | None = None

    @cached_property
    def times(self) -> np.ndarray:
        """Instants, hourly, the state at the start first."""
        return times(self.record)

    @cached_property
    def hours(self) -> int:
        """Length of the rated part. [h]"""
        return len(self.times) - 1

    @cached_property
    def layers(self) -> tuple[str, ...]:
        """Names of the layers, outdoors to indoors."""
        return text(self.record, "layer_name")

    @cached_property
    def wood(self) -> tuple[int, ...]:
        """Indices of the wood-based layers."""
        return wood_layers(self.record)

    @cached_property
    def metal(self) -> tuple[MetalRating, ...]:
        """Attachments that the wall names."""
        return metal_ratings(self.record)

    def inward(self, layer: int) -> bool:
        """Say whether a layer is the sheathing or lies inside of it."""
        return layer >= self.sheathing.index
