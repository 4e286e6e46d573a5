"""Hand-made result Datasets for tests of the ratings. Owns no expected value."""

from __future__ import annotations

import itertools
from typing import NamedTuple

import numpy as np
import xarray as xr

from hygro.record.variables import SIDES, VARIABLES

START = np.datetime64("2030-10-01T00", "ns")


class L(NamedTuple):
    """A layer of a hand-made wall, in `cells` equal cells."""

    name: str
    thickness: float
    density: float
    wood: int = 0
    absorbent: int = 1
    mould: str = "none"
    w_free: float = 500.0
    w_max: float = 800.0
    cells: int = 4
    s_crit: float = float("nan")
    metal: str = "neutral"
    w_sorbed: float = 200.0


CLADDING = L("cladding", 0.02, 1800.0, w_free=200.0, w_max=300.0)
OSB = L("osb", 0.012, 600.0, wood=1, mould="sensitive", w_sorbed=100.0)
GYPSUM = L("gypsum sheathing", 0.0125, 800.0, mould="sensitive")
WOOL = L(
    "wool", 0.14, 20.0, absorbent=0, mould="medium resistant", w_free=300.0, w_max=900.0,
    w_sorbed=1.0,
)  # fmt: skip
BOARD = L("board", 0.0125, 700.0, mould="sensitive")
WALL = (CLADDING, OSB, WOOL, BOARD)


def saturation(kelvin):
    """ISO 13788: 610.5 exp(17.269 t/(237.3 + t)) over water, 21.875 and 265.5 over ice. [Pa]"""
    t = np.asarray(kelvin, float) - 273.15
    warm, cold = 17.269 * t / (237.3 + t), 21.875 * t / (265.5 + t)
    return 610.5 * np.exp(np.where(t >= 0.0, warm, cold))


def record(
    layers=WALL,
    *,
    hours=24 * 40,
    temperature=293.15,
    rh=0.5,
    water=None,
    ice=None,
    face_temperature=None,
    face_rh=None,
    indoor=(293.15, 1000.0),
    flows=None,
):
    """Build a Dataset; values are scalars or broadcast to (time, cell) or (time, interface, side).

    `water` None: 10 % by mass everywhere. Face values None: as the cells where
    these are alike in all places, else 20 °C and 50 %.
    """
    dims = _Dims(layers, hours)
    names = [layer.name for layer in layers]
    faces = ["outdoor surface", *map(" | ".join, itertools.pairwise(names))]
    faces.append("indoor surface")
    owner = np.repeat(np.arange(len(layers)), [layer.cells for layer in layers])
    thick = np.repeat([x.thickness / x.cells for x in layers], [x.cells for x in layers])
    depth = np.concatenate(([0.0], np.cumsum([x.thickness for x in layers])))
    density = np.array([x.density for x in layers])
    content = dims.cells(0.10 * density[owner] if water is None else water)
    t, h = dims.cells(temperature), dims.cells(rh)
    ft = dims.faces(
        _faces_like(temperature, 293.15) if face_temperature is None else face_temperature
    )
    fh = dims.faces(_faces_like(rh, 0.5) if face_rh is None else face_rh)
    in_layer = np.equal.outer(owner, np.arange(len(layers))).astype(float)
    values = {
        "cell_depth": np.cumsum(thick) - 0.5 * thick,
        "cell_thickness": thick,
        "cell_layer": owner,
        "layer_name": names,
        "layer_thickness": [x.thickness for x in layers],
        "layer_density": density,
        "layer_wood_based": [x.wood for x in layers],
        "layer_absorbent": [x.absorbent for x in layers],
        "layer_mould_class": [x.mould for x in layers],
        "layer_s_crit": [x.s_crit for x in layers],
        "layer_corrosion_class": [x.metal for x in layers],
        "layer_w_sorbed": [x.w_sorbed for x in layers],
        "layer_w_free": [x.w_free for x in layers],
        "layer_w_max": [x.w_max for x in layers],
        "interface_name": faces,
        "interface_depth": depth,
        "side": list(SIDES),
        "temperature": t,
        "relative_humidity": h,
        "water_content": content,
        "vapour_pressure": h * saturation(t),
        "interface_temperature": ft,
        "interface_relative_humidity": fh,
        "interface_vapour_pressure": fh * saturation(ft),
        "layer_water": (content * thick) @ in_layer,
        "layer_temperature": (t * thick) @ in_layer / (thick @ in_layer),
        "heat_flux": dims.flux(0.0),
        "moisture_flux": dims.flux(0.0),
        "outdoor_temperature": dims.line(273.15),
        "outdoor_vapour_pressure": dims.line(500.0),
        "indoor_temperature": dims.line(indoor[0]),
        "indoor_vapour_pressure": dims.line(indoor[1]),
    }
    for name in _FLOWS:
        values[name] = dims.hour_mean((flows or {}).get(name, 0.0))
    if ice is not None:
        values["ice_content"] = dims.cells(ice)
    return _dataset(values, dims.stamps)


_FLOWS = ("rain_incident", "rain_absorbed", "rain_runoff", "leak_rain", "drained", "leak_vapour")


class _Dims:
    def __init__(self, layers, hours):
        self.steps = hours + 1
        self.cell_count = sum(layer.cells for layer in layers)
        self.face_count = len(layers) + 1
        self.stamps = START + np.arange(self.steps) * np.timedelta64(1, "h")

    def cells(self, value):
        return np.array(np.broadcast_to(_column(value, 2), (self.steps, self.cell_count)), float)

    def faces(self, value):
        shape = (self.steps, self.face_count, 2)
        return np.array(np.broadcast_to(_column(value, 3), shape), float)

    def line(self, value):
        return np.array(np.broadcast_to(value, (self.steps,)), float)

    def hour_mean(self, value):
        line = self.line(value)
        line[0] = np.nan
        return line

    def flux(self, value):
        out = np.full((self.steps, self.face_count), float(value))
        out[0] = np.nan
        return out


def _faces_like(cells, otherwise):
    return (
        cells if np.ndim(cells) == 0 or (np.ndim(cells) == 1 and np.size(cells) > 40) else otherwise
    )


def _column(value, dims):
    """A series along time broadcasts over places; anything else is left to numpy."""
    value = np.asarray(value, float)
    if value.ndim == 1 and value.size > 40:
        return value.reshape(-1, *[1] * (dims - 1))
    return value


def _dataset(values, stamps):
    ds = xr.Dataset(coords={"time": stamps})
    for name, value in values.items():
        row = VARIABLES[name]
        data = (row.dims, np.asarray(value, dtype=object if row.dtype == "str" else None))
        ds = ds.assign_coords({name: data}) if row.kind == "coordinate" else ds.assign({name: data})
        ds[name].attrs.update(row.attrs)
    return ds
