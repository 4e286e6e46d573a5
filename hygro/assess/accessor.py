"""`record.hygro`: the ratings of a record as methods of the Dataset itself.

Owns the names; every value comes from a rating module. Registered when `hygro.assess` is imported.
"""

from __future__ import annotations

import importlib
import json
from typing import TYPE_CHECKING, Any

import xarray as xr

from hygro.assess.condensation import NEAR, face_condensate
from hygro.assess.formed import face_formed
from hygro.assess.growth import mould
from hygro.assess.humidity import surface_state
from hygro.assess.judge import verdict
from hygro.assess.moisture import moisture_content
from hygro.assess.mould import Model
from hygro.assess.places import Face, Part, surface
from hygro.assess.select import check_dataset, stamp, text
from hygro.assess.summary import summary
from hygro.assess.verdict import Verdict
from hygro.errors import InputError, RecordError
from hygro.record.provenance import stored_wall
from hygro.solve.settings import Settings
from hygro.units import check_system
from hygro.wall.wall import Wall

if TYPE_CHECKING:
    from matplotlib.figure import Figure


@xr.register_dataset_accessor("hygro")
class RecordAccessor:
    """What a record says of its wall, and how the wall fared.

    Raises
    ------
    RecordError
        For a Dataset that is not the record of a run.
    """

    def __init__(self, ds: xr.Dataset) -> None:
        try:
            check_dataset(ds)
        except InputError as error:
            raise RecordError(f".hygro: this Dataset is no record: {error}") from error
        self._ds = ds

    def __repr__(self) -> str:
        """Say in a few lines what was run, from when to when, and what may be asked."""
        ends = [stamp(t) for t in self._ds["time"].values[[0, -1]]]
        leaks = ""
        if "wall" in self._ds.attrs:  # arithmetic drops attributes
            leaks = ", with leaks" if self.wall.leaky else ", without leaks"
        return "\n".join(
            [
                f"Record of '{self._ds.attrs.get('title', '')}': {ends[0]} to {ends[1]}{leaks}",
                f"  layers, outside to inside: {', '.join(self.layers)}",
                "  ask .verdict(), .summary(), .moisture_content(layer), .mould_index(layer),",
                "  .condensate(layer), .wall, .settings, .closure, .plot",
            ]
        )

    @property
    def layers(self) -> tuple[str, ...]:
        """Names of the layers, outdoors to indoors."""
        return text(self._ds, "layer_name")

    @property
    def wall(self) -> Wall:
        """The wall that was run."""
        self._attribute("wall")
        return stored_wall(self._ds)

    @property
    def settings(self) -> Settings:
        """The numerical settings of the run."""
        return Settings(**json.loads(self._attribute("settings")))

    @property
    def closure(self) -> dict[str, float]:
        """How far the balances of "energy" and "moisture" are open, of the throughput. [1]"""
        return {key: float(self._attribute(f"closure_{key}")) for key in ("energy", "moisture")}

    def _attribute(self, key: str) -> Any:
        if key not in self._ds.attrs:
            raise RecordError(
                f".hygro: attribute '{key}' is missing; arithmetic drops attributes: take the "
                "record as it was made or opened"
            )
        return self._ds.attrs[key]

    def moisture_content(self, layer: str, part: Part | None = None) -> xr.DataArray:
        """See `hygro.assess.moisture_content`. [kg/kg]"""
        return moisture_content(self._ds, layer, part)

    def temperature(self, layer: str, face: Face = "inner") -> xr.DataArray:
        """Temperature of one face of a layer, hourly. [K]"""
        return surface_state(self._ds, layer, face)[0]

    def relative_humidity(self, layer: str, face: Face = "inner") -> xr.DataArray:
        """Relative humidity at one face of a layer, hourly. [1]"""
        return surface_state(self._ds, layer, face)[1]

    def mould_index(
        self,
        layer: str,
        face: Face = "inner",
        *,
        model: Model = "ojanen2010",
        decline: float | str | None = None,
    ) -> xr.DataArray:
        """Mould index at one face of a layer, hourly, as it is judged. [1]

        Service is gone through again and again until ten years are full, and its last time is
        told; the year before it once, from the start. See `hygro.assess.mould`; for `model` and
        `decline` `hygro.assess.mould_index`.

        Raises
        ------
        InputError
            For the outdoor surface, and a layer without a mould class.
        """
        name = surface(self._ds, layer, face).name
        found = mould(self._ds, model=model, decline=decline)
        if name not in found["surface"].values:
            raise InputError(
                f"mould index of '{name}': not rated; its layer has no mould class, or it is the "
                "outdoor surface"
            )
        return found.sel(surface=name)

    def condensate(self, layer: str, face: Face = "inner", *, near: float = NEAR) -> xr.DataArray:
        """Water beyond sorption within `near` [m] of one face of a layer, hourly. [kg/m²]"""
        return face_condensate(self._ds, layer, face, near=near)

    def condensate_formed(
        self, layer: str, face: Face = "inner", *, near: float = NEAR
    ) -> xr.DataArray:
        """Condensate that formed at one face of a layer in the hour before. [kg/m²]"""
        return face_formed(self._ds, layer, face, near=near)

    def verdict(self, **options: Any) -> Verdict:
        """Judge the record; options of `hygro.assess.verdict`."""
        return verdict(self._ds, **options)

    def summary(self, **options: Any) -> dict[str, object]:
        """Return the short list of numbers; see `hygro.assess.summary`."""
        return summary(self._ds, **options)

    def _repr_html_(self) -> str:
        """Verdict and wall of the record, for a notebook."""
        found: str = importlib.import_module("hygro.show.notebook").record_html(self._ds)
        return found

    @property
    def plot(self) -> RecordFigures:
        """Figures of the record."""
        return RecordFigures(self._ds)


class RecordFigures:
    """Figures of one record.

    Drawing stands above the ratings in the import line and takes long to load, so it is fetched by
    name when a figure is asked for.
    """

    def __init__(self, ds: xr.Dataset) -> None:
        self._ds = ds

    def time_series(self, layer: str | None = None, **options: object) -> Figure:
        """Draw moisture content, mould index and humidity of a layer (default: the sheathing)."""
        return self._drawn("time_series", layer, **options)

    def depth_map(self, **options: Any) -> Figure:
        """Draw humidity, temperature and water over depth and time."""
        return self._drawn("depth_map", **options)

    def months(self, **options: Any) -> Figure:
        """Draw the water of the layers behind the cladding by month."""
        return self._drawn("months", **options)

    def envelope(self, quantity: str = "relative_humidity", **options: Any) -> Figure:
        """Draw least, mean and most of a field across the section, a panel a month."""
        return self._drawn("envelope", quantity, **options)

    def reserve(self, **options: Any) -> Figure:
        """Draw how far each hard criterion is from its limit."""
        return self._drawn("reserve", **options)

    def metal(self, **options: Any) -> Figure:
        """Draw temperature and humidity at screws and girts, and at the face where they end."""
        return self._drawn("metal", **options)

    def section(self, **options: object) -> Figure:
        """Draw the wall to scale."""
        return self._drawn("section", **options)

    def _drawn(self, name: str, *arguments: Any, **options: Any) -> Figure:
        check_system(options.get("system", "si"))
        module = importlib.import_module("hygro.show.of_record")
        figure: Figure = getattr(module, name)(self._ds, *arguments, **options)
        return figure
