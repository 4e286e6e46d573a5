"""The one table of what a run leaves: name, unit, dims, meaning, averaging and bounds.

Owns the schema of the result Dataset; the rows of the loads stand in `hygro.wall.load_variables`.
Units are written the way UDUNITS reads them (``kg m-3``, ``1`` for a number between 0 and 1).
The bounds are limits of plausibility (a value outside points to a mistake), not physical law.
"""

from __future__ import annotations

from types import MappingProxyType
from typing import Literal

import numpy as np

from hygro.material.model import HYGROSCOPIC_LIMIT
from hygro.variable import KELVIN, MEAN, PASCAL, POINT, RAIN, Variable, series
from hygro.wall.load_variables import INSTANT, LOADS

SIDES = ("outer", "inner")
"""Values of the coordinate ``side``: the outdoor and the room side of an interface.

A layer meets its outer interface on the side "inner" and its inner interface on the side "outer";
the two differ where a membrane lies between.
"""
OUTER, INNER = 0, 1
"""Index of the two sides along the dimension ``side``."""

CELL, LAYER, GAP = ("time", "cell"), ("time", "layer"), ("time", "gap")
FACE, FLUX = ("time", "interface", "side"), ("time", "interface")
UNIT_RH = (0.0, 1.05)
# Between two cells of different temperature the vapour pressure over a cold face may exceed
# saturation until it condenses there.
FACE_RH = (0.0, 2.0)
# frost that outgrows the pores stays in the thin cell that it grew in
# a film of frost in a thin cell: some kg/m² in a tenth of a millimetre
WATER = (0.0, 1e6)
# an over-filled surface gives water back, and may take some of that up again
OUTFLOW = (-0.1, 0.1)


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
    source: str = "",
) -> Variable:
    return Variable(
        name, unit, (dim,), long_name, "", low, high, "coordinate", dtype, optional, source=source
    )


TABLE: tuple[Variable, ...] = (
    INSTANT,
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
        "layer_corrosion_class",
        "",
        "layer",
        "of metal the corrosivity category it bears, else what it does to metal",
        dtype="str",
        optional=True,
    ),
    _coordinate(
        "layer_s_crit",
        "1",
        "layer",
        "critical saturation for frost, share of the pores; not-a-number: not stated",
        optional=True,
    ),
    _coordinate(
        "layer_w_sorbed",
        "kg m-3",
        "layer",
        f"water content at {100 * HYGROSCOPIC_LIMIT:g} % RH; what is beyond it is not sorbed",
        low=0,
        high=1e3,
        optional=True,
        source="storage curve of the material; range of sorption: ISO 12571 (from memory)",
    ),
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
    _coordinate("layer", "", "layer", "layer by name", dtype="str", optional=True),
    _coordinate("interface", "", "interface", "interface by name", dtype="str", optional=True),
    _coordinate("gap", "", "gap", "air gap by name", dtype="str", optional=True),
    series(POINT, "temperature", "K", CELL, "temperature of the cell", KELVIN),
    series(POINT, "relative_humidity", "1", CELL, "p_v / p_sat, over ice below 0 degC", UNIT_RH),
    series(POINT, "water_content", "kg m-3", CELL, "water content, ice included", WATER),
    series(POINT, "ice_content", "kg m-3", CELL, "ice content", WATER, optional=True),
    series(POINT, "vapour_pressure", "Pa", CELL, "vapour pressure of the cell", PASCAL),
    series(POINT, "interface_temperature", "K", FACE, "temperature of the interface", KELVIN),
    series(
        POINT, "interface_vapour_pressure", "Pa", FACE, "vapour pressure at the interface", PASCAL
    ),
    series(
        POINT,
        "interface_relative_humidity",
        "1",
        FACE,
        "p_v / p_sat, over ice below 0 degC",
        FACE_RH,
    ),
    series(
        MEAN,
        "heat_flux",
        "W m-2",
        FLUX,
        "enthalpy flux (conduction, vapour with latent heat, liquid), positive inward",
        (-1e5, 1e5),
    ),
    series(
        MEAN, "moisture_flux", "kg m-2 s-1", FLUX, "moisture flux, positive inward", (-1.0, 1.0)
    ),
    series(POINT, "layer_water", "kg m-2", LAYER, "water in the layer, ice included", (0.0, 1e5)),
    series(POINT, "layer_temperature", "K", LAYER, "mean temperature of the layer", KELVIN),
    series(
        MEAN,
        "rain_absorbed",
        "kg m-2 s-1",
        ("time",),
        "rain taken up by the outdoor surface, negative where it gives back more",
        OUTFLOW,
    ),
    series(
        MEAN,
        "rain_runoff",
        "kg m-2 s-1",
        ("time",),
        "rain that runs off the outdoor surface",
        OUTFLOW,
    ),
    series(MEAN, "leak_rain", "kg m-2 s-1", ("time",), "rain leaked into the wall", RAIN),
    series(
        MEAN,
        "drained",
        "kg m-2 s-1",
        ("time",),
        "water that found no room and drained, and what drips off both surfaces",
        OUTFLOW,
    ),
    series(
        MEAN,
        "leak_vapour",
        "kg m-2 s-1",
        ("time",),
        "moisture dropped by leaking air, negative where picked up",
        OUTFLOW,
    ),
    series(
        MEAN,
        "layer_source",
        "kg m-2 s-1",
        LAYER,
        "water that leaks, wettings and air bring to the layer, less what drains from it",
        OUTFLOW,
        optional=True,
    ),
    series(POINT, "gap_temperature", "K", GAP, "air temperature in the gap", KELVIN, optional=True),
    series(
        POINT, "gap_vapour_pressure", "Pa", GAP, "vapour pressure in the gap", PASCAL, optional=True
    ),
    series(MEAN, "gap_air_change", "h-1", GAP, "air change of the gap", (0.0, 1e7), optional=True),
    *LOADS.values(),
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
    return VARIABLES[name].first_outside(values)
