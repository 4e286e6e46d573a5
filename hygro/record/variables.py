"""The one table of what a run leaves: name, unit, dims, meaning, averaging and bounds.

Owns the schema of the result Dataset; knows no xarray, no netCDF and nothing of the other modules.
Units are written the way UDUNITS reads them (``kg m-3``, ``1`` for a number between 0 and 1).
The bounds are limits of plausibility (a value outside points to a mistake), not physical law.
"""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

import numpy as np

Kind = Literal["coordinate", "variable"]

SIDES = ("outer", "inner")
"""Values of the coordinate ``side``: the outdoor and the room side of an interface.

A layer meets its outer interface on the side "inner" and its inner interface on the side "outer";
the two differ where a membrane lies between.
"""
OUTER, INNER = 0, 1
"""Index of the two sides along the dimension ``side``."""


@dataclass(frozen=True)
class Variable:
    """One row of the table: everything a reader needs to know about one array of the Dataset.

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
    first_is_nan : bool
        True for means of the hour, which have no value at the first instant.
    """

    name: str
    unit: str
    dims: tuple[str, ...]
    long_name: str
    cell_methods: str = ""
    low: float | None = None
    high: float | None = None
    kind: Kind = "variable"
    dtype: Literal["float", "int", "str", "time"] = "float"
    optional: bool = False
    first_is_nan: bool = False

    @property
    def attrs(self) -> dict[str, str | list[float]]:
        """Attributes for the array in the Dataset, CF names, netCDF-safe values only."""
        attrs: dict[str, str | list[float]] = {"long_name": self.long_name}
        if self.unit:
            attrs["units"] = self.unit
        if self.cell_methods:
            attrs["cell_methods"] = self.cell_methods
        if self.low is not None and self.high is not None:
            attrs["valid_range"] = [float(self.low), float(self.high)]
        return attrs


POINT, MEAN = "time: point", "time: mean"
CELL, LAYER, GAP = ("time", "cell"), ("time", "layer"), ("time", "gap")
FACE, FLUX = ("time", "interface", "side"), ("time", "interface")
KELVIN = (180.0, 400.0)  # coldest air on record is 184 K; dark cladding in the sun stays below 400
PASCAL = (0.0, 1.0e5)
UNIT_RH = (0.0, 1.05)
# Between two cells of different temperature the vapour pressure over a cold face may exceed
# saturation until it condenses there.
FACE_RH = (0.0, 2.0)
WATER = (0.0, 1000.0)
RAIN = (0.0, 0.1)  # 0.1 kg/(m²·s) is 360 mm/h on the wall


def _coordinate(
    name: str,
    unit: str,
    dim: str,
    long_name: str,
    *,
    low: float | None = None,
    high: float | None = None,
    dtype: Literal["float", "int", "str", "time"] = "float",
    optional: bool = False,
) -> Variable:
    return Variable(
        name, unit, (dim,), long_name, "", low, high, "coordinate", dtype, optional=optional
    )


def _point(
    name: str,
    unit: str,
    dims: tuple[str, ...],
    long_name: str,
    bounds: tuple[float, float],
    *,
    optional: bool = False,
) -> Variable:
    return Variable(name, unit, dims, long_name, POINT, *bounds, optional=optional)


def _mean(
    name: str,
    unit: str,
    dims: tuple[str, ...],
    long_name: str,
    bounds: tuple[float, float],
    *,
    optional: bool = False,
) -> Variable:
    return Variable(
        name, unit, dims, long_name, MEAN, *bounds, optional=optional, first_is_nan=True
    )


TABLE: tuple[Variable, ...] = (
    _coordinate(
        "time", "", "time", "local standard time; means belong to the hour before", dtype="time"
    ),
    _coordinate("side", "", "side", "outdoor or room side of the interface", dtype="str"),
    _coordinate("cell_depth", "m", "cell", "depth of the cell centre from the outdoor surface"),
    _coordinate("cell_thickness", "m", "cell", "thickness of the cell", low=0.0, high=10.0),
    _coordinate("cell_layer", "1", "cell", "index of the layer the cell is in", dtype="int"),
    _coordinate("layer_name", "", "layer", "name of the layer, outdoors to indoors", dtype="str"),
    _coordinate("layer_thickness", "m", "layer", "thickness of the layer", low=0.0, high=100.0),
    _coordinate("layer_density", "kg m-3", "layer", "dry bulk density", low=0.0, high=2.0e4),
    _coordinate(
        "layer_wood_based",
        "1",
        "layer",
        "1 for wood and wood-based board",
        low=0,
        high=1,
        dtype="int",
    ),
    _coordinate(
        "layer_absorbent",
        "1",
        "layer",
        "1 where the layer takes up liquid",
        low=0,
        high=1,
        dtype="int",
    ),
    _coordinate("layer_mould_class", "", "layer", "mould sensitivity class", dtype="str"),
    _coordinate(
        "layer_w_free", "kg m-3", "layer", "water content at free saturation", low=0, high=1e3
    ),
    _coordinate(
        "layer_w_max", "kg m-3", "layer", "water content with all pores full", low=0, high=1e3
    ),
    _coordinate("interface_name", "", "interface", "name of the interface", dtype="str"),
    _coordinate(
        "interface_depth",
        "m",
        "interface",
        "depth from the outdoor surface (of the outer face of a gap)",
    ),
    _coordinate("gap_name", "", "gap", "name of the air gap", dtype="str", optional=True),
    _point("temperature", "K", CELL, "temperature of the cell", KELVIN),
    _point("relative_humidity", "1", CELL, "p_v / p_sat, over ice below 0 degC", UNIT_RH),
    _point("water_content", "kg m-3", CELL, "water content, ice included", WATER),
    _point("ice_content", "kg m-3", CELL, "ice content", WATER, optional=True),
    _point("vapour_pressure", "Pa", CELL, "vapour pressure of the cell", PASCAL),
    _point("interface_temperature", "K", FACE, "temperature of the interface", KELVIN),
    _point("interface_vapour_pressure", "Pa", FACE, "vapour pressure at the interface", PASCAL),
    _point("interface_relative_humidity", "1", FACE, "p_v / p_sat, over ice below 0 degC", FACE_RH),
    _mean(
        "heat_flux",
        "W m-2",
        FLUX,
        "enthalpy flux (conduction, vapour with latent heat, liquid), positive inward",
        (-1e5, 1e5),
    ),
    _mean("moisture_flux", "kg m-2 s-1", FLUX, "moisture flux, positive inward", (-1.0, 1.0)),
    _point("layer_water", "kg m-2", LAYER, "water in the layer, ice included", (0.0, 1e5)),
    _point("layer_temperature", "K", LAYER, "mean temperature of the layer", KELVIN),
    _mean("rain_incident", "kg m-2 s-1", ("time",), "rain that meets the wall", RAIN),
    _mean("rain_absorbed", "kg m-2 s-1", ("time",), "rain taken up by the outdoor surface", RAIN),
    _mean("rain_runoff", "kg m-2 s-1", ("time",), "rain that runs off the outdoor surface", RAIN),
    _mean("leak_rain", "kg m-2 s-1", ("time",), "rain leaked into the wall", RAIN),
    _mean(
        "drained",
        "kg m-2 s-1",
        ("time",),
        "water that found no room and drained, and what drips off both surfaces",
        RAIN,
    ),
    _mean(
        "leak_vapour",
        "kg m-2 s-1",
        ("time",),
        "moisture dropped by leaking air, negative where picked up",
        (-0.1, 0.1),
    ),
    _point("outdoor_temperature", "K", ("time",), "outdoor air temperature", KELVIN),
    _point("outdoor_vapour_pressure", "Pa", ("time",), "outdoor vapour pressure", PASCAL),
    _point("indoor_temperature", "K", ("time",), "indoor air temperature", KELVIN),
    _point("indoor_vapour_pressure", "Pa", ("time",), "indoor vapour pressure", PASCAL),
    _point("gap_temperature", "K", GAP, "air temperature in the gap", KELVIN, optional=True),
    _point("gap_vapour_pressure", "Pa", GAP, "vapour pressure in the gap", PASCAL, optional=True),
    _mean("gap_air_change", "h-1", GAP, "air change of the gap", (0.0, 1e5), optional=True),
    _point("outdoor_heat_transfer", "W m-2 K-1", ("time",), "outdoor heat transfer", (0.0, 1e13)),
    _point("indoor_heat_transfer", "W m-2 K-1", ("time",), "indoor heat transfer", (0.0, 1e13)),
    _point("outdoor_vapour_transfer", "s m-1", ("time",), "outdoor vapour transfer", (0.0, 1e4)),
    _point("indoor_vapour_transfer", "s m-1", ("time",), "indoor vapour transfer", (0.0, 1e4)),
    _mean(
        "outdoor_radiation",
        "W m-2",
        ("time",),
        "absorbed sun and incoming longwave, outdoors",
        (-1e3, 3e3),
    ),
    _mean("indoor_radiation", "W m-2", ("time",), "absorbed radiation, indoors", (-1e3, 3e3)),
    _mean("indoor_wetting", "kg m-2 s-1", ("time",), "water on the indoor surface", RAIN),
    _mean("wind_speed", "m s-1", ("time",), "wind speed at 10 m", (0.0, 100.0)),
    _mean("air_flow", "m s-1", ("time",), "air flow through the wall, positive inward", (-1, 1)),
    _mean(
        "gap_exchange", "m s-1", GAP, "given air exchange of the gap", (0.0, 10.0), optional=True
    ),
    _mean(
        "source_rate",
        "1",
        ("time", "source"),
        "rate of each source: rain leak, wetting [kg m-2 s-1], air leak [m s-1]",
        (0.0, 10.0),
        optional=True,
    ),
)

VARIABLES: MappingProxyType[str, Variable] = MappingProxyType({row.name: row for row in TABLE})
"""The rows of `TABLE` by name."""


def out_of_bounds(name: str, values: np.ndarray) -> tuple[int, ...] | None:
    """Return the index of the first value outside the plausible bounds, None where all are inside.

    NaN counts as outside, except at the first instant of a mean of the hour.

    Parameters
    ----------
    name : str
        A name in `VARIABLES`.
    values : array
        Values in the unit of the row, dims in the order of the row.
    """
    row = VARIABLES[name]
    if row.low is None or row.high is None:
        return None
    bad = ~((values >= row.low) & (values <= row.high))
    if row.first_is_nan and values.shape[0]:
        bad[0] &= ~np.isnan(values[0])
    where = np.argwhere(bad)
    return tuple(int(index) for index in where[0]) if len(where) else None
