"""What a criterion sees: the rated part of a run and the choices made for it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from hygro.assess.growth import ONCE, grown, judged_surfaces, wood_layers
from hygro.assess.hourly import Hourly, Record, hourly
from hygro.assess.metal import MetalRating, metal_ratings
from hygro.assess.mould import Model
from hygro.assess.places import Sheathing, Surface
from hygro.assess.questions import Way
from hygro.assess.select import array, holds, text, times
from hygro.material.model import NOT_STATED
from hygro.wall.codes import retarder_class
from hygro.wall.elements import Membrane
from hygro.wall.resistance import HAND_RH
from hygro.wall.wall import Wall

BOARD = 0.030
"""A sheathing of at most this thickness is a board on studs, not masonry (our choice). [m]"""


@dataclass(frozen=True, eq=False)
class Rated:
    """The rated part of a run.

    Attributes
    ----------
    record : Dataset or Hourly
        The part of the run that answers the question of the criterion; a Dataset wherever a user's
        criterion asks.
    whole : Dataset or Hourly
        All of it.
    sheathing : Sheathing
        The layer judged as sheathing.
    apart : bool
        Whether service and closing in have different parts of the run.
    mould_model, decline
        See `hygro.assess.mould_index`.
    way : Way, optional
        How what grows goes through `whole` up to the end of `record`; None: once through `record`.
    """

    record: Record
    whole: Record
    sheathing: Sheathing
    apart: bool = False
    mould_model: Model = "ojanen2010"
    decline: float | str | None = None
    way: Way | None = None

    @cached_property
    def hourly(self) -> Hourly:
        """The part that is rated, with what is derived of it."""
        return hourly(self.record)

    @cached_property
    def grows(self) -> tuple[Hourly, Way]:
        """The hours that mould and rot grow through: what they are of, and the way."""
        return (self.hourly, ONCE) if self.way is None else (self._whole, self.way)

    def mould(self, model: Model, decline: float | str | None = None) -> np.ndarray:
        """Mould index of `judged_surfaces` at `times`. [1]"""
        ds, way = self.grows
        return grown(ds, model, decline, way)

    def most_mould(
        self, model: Model, decline: float | str | None = None
    ) -> tuple[dict[Surface, float], Surface | None]:
        """Highest mould index of each judged surface, and of those that decide the worst. [1]"""
        places = [place for place, _ in judged_surfaces(self.hourly)]
        most = self.mould(model, decline).max(axis=0).tolist()
        highest = dict(zip(places, most, strict=True))
        judged = (place for place in places if self.decides(place.layer))
        return highest, max(judged, key=lambda place: highest[place], default=None)

    def year_of(self, when: np.datetime64 | None) -> int | None:
        """Year of service in which one of `times` is met the last time; None where once through."""
        if when is None or self.way is None:
            return None
        instant = self.way.begin + int(np.searchsorted(self.times, when))
        return self.way.year(instant, len(times(self._whole)) - 1)

    @cached_property
    def years(self) -> str:
        """Years of service that mould and rot grow through, in words; none where once through."""
        ds, way = self.grows
        told = f", in {way.years(len(times(ds)) - 1):.3g} years of service"
        return told if way.again else ""

    @cached_property
    def _whole(self) -> Hourly:
        return hourly(self.whole)

    @cached_property
    def wall(self) -> Wall | None:
        """The wall that was run; None where the record holds none."""
        return self._whole.wall

    @cached_property
    def times(self) -> np.ndarray:
        """Instants, hourly, the state at the start first."""
        return times(self.hourly)

    @cached_property
    def hours(self) -> int:
        """Length of the rated part. [h]"""
        return len(self.times) - 1

    @cached_property
    def layers(self) -> tuple[str, ...]:
        """Names of the layers, outdoors to indoors."""
        return text(self.hourly, "layer_name")

    @cached_property
    def wood(self) -> tuple[int, ...]:
        """Indices of the wood-based layers."""
        return wood_layers(self.hourly)

    @cached_property
    def gaps(self) -> tuple[str, ...]:
        """Names of the air gaps."""
        return text(self.hourly, "gap_name") if holds(self.hourly, "gap_name") else ()

    @cached_property
    def metal(self) -> tuple[MetalRating, ...]:
        """Attachments that the wall names."""
        return metal_ratings(self.hourly)

    @cached_property
    def behind_cladding(self) -> int:
        """First layer behind the cladding.

        It lies behind the outermost gap, if that lies outside of the sheathing. Without such a gap
        the outermost layer is the cladding; where the cladding itself is judged as sheathing, it is
        the first.
        """
        if self.sheathing.index == 0:
            return 0
        return self.behind_gap or 1

    @cached_property
    def behind_gap(self) -> int:
        """First layer behind the outermost gap outside of the sheathing; 0 without one."""
        for index, name in enumerate(text(self.hourly, "interface_name")):
            if any(f" | {gap} | " in name for gap in self.gaps):
                return index if index <= self.sheathing.index else 0
        return 0

    @cached_property
    def faces_room(self) -> bool:
        """Whether the innermost face sees the room: bare, or behind coatings that let vapour by.

        A face behind a sheet of class I or II is a hidden one. True where the record holds no wall.
        """
        if self.wall is None:
            return True
        for element in reversed(self.wall.layers):
            if not isinstance(element, Membrane):
                break
            permeance = float(element.material.permeance.permeance(HAND_RH))
            if retarder_class(permeance) not in ("III", "open"):
                return False
        return True

    def decides(self, layer: int) -> bool:
        """Say whether a layer is judged hard: sheathing inward, and wood behind the cladding."""
        wood_outboard = layer in self.wood and layer >= self.behind_cladding
        return layer >= self.sheathing.index or wood_outboard

    @cached_property
    def steel(self) -> str:
        """Why steel may touch the inner face of the sheathing; empty where nothing says so."""
        index = self.sheathing.index
        if index == len(self.layers) - 1:
            return ""  # the room behind it, no studs
        thin = float(array(self.hourly, "layer_thickness")[index]) <= BOARD
        if index not in self.wood and thin:
            return "the sheathing is a board that is not wood-based, as on steel studs"
        framed = self.wall is not None and any(
            layer.framing is not None and layer.framing.conductivity is not None
            for layer in self.wall.solids
        )
        return "the framing is of steel" if framed else ""

    @cached_property
    def steel_bears(self) -> str | None:
        """Corrosivity category that steel studs behind the sheathing bear, where the wall says."""
        if self.wall is None:
            return None
        stated = (
            layer.framing.corrosion_class
            for layer in self.wall.solids
            if layer.framing is not None and layer.framing.conductivity is not None
        )
        return next(stated, None)

    def contact(self, layer: int) -> str:
        """What the material of a layer states of metal in contact with it."""
        if not holds(self.hourly, "layer_corrosion_class"):
            return NOT_STATED
        return text(self.hourly, "layer_corrosion_class")[layer]
