"""Published cases as input of the engine: tables, materials, walls and loads from `cases/`.

Owns the reading of case folders and the step from their neutral numbers to values of the engine;
judges nothing. A missing file is an error, never an empty comparison.
"""

from __future__ import annotations

import csv
import importlib
import sys
import tomllib
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
from scipy.interpolate import PchipInterpolator

from hygro.case.locate import cases_folder
from hygro.errors import InputError
from hygro.material.liquid import (
    ConstantDiffusivity,
    PolynomialConductivity,
    PowerConductivity,
)
from hygro.material.model import Liquid, Material
from hygro.material.storage import LinearStorage, VanGenuchten
from hygro.material.thermal import ConstantConductivity, LinearConductivity
from hygro.material.vapour import BenchmarkPermeability, ConstantPermeability
from hygro.proof.check import Array
from hygro.types import Data
from hygro.wall.elements import Initial, Layer
from hygro.wall.grid import Grid
from hygro.wall.loads import Loads, constant_loads
from hygro.wall.surfaces import Inside, Outside
from hygro.wall.wall import Wall
from weather.moistair import saturation_pressure

TIGHT = 1e-25
"""Permeability that lets nothing through, for checks of heat alone. [kg/(m·s·Pa)]"""


def folder(case: str) -> Path:
    """Folder of a published case; raises `InputError` where it is missing."""
    root = cases_folder()
    if root is None or not (root / case).is_dir():
        raise InputError(f"case '{case}': its folder is not installed; a missing reference fails")
    return root / case


@cache
def definition(case: str) -> Data:
    """Content of `case.toml`."""
    return tomllib.loads((folder(case) / "case.toml").read_text("utf-8"))


@cache
def rows(case: str, name: str) -> tuple[dict[str, str], ...]:
    """Rows of a commented CSV file as text."""
    path = folder(case) / name
    if not path.is_file():
        raise InputError(f"case '{case}': {name} is missing; a missing reference fails")
    lines = [x for x in path.read_text("utf-8").splitlines() if not x.startswith("#")]
    return tuple(csv.DictReader(lines))


@cache
def table(case: str, name: str) -> dict[str, Array]:
    """Columns of a commented CSV file of numbers."""
    found = rows(case, name)
    return {key: np.array([float(row[key]) for row in found]) for key in found[0]}


def reference_module(name: str) -> Any:
    """Import `reference_fv` or `reference_case` from the folder of the cases."""
    root = cases_folder()
    if root is None:
        raise InputError("the folder of the cases is not installed")
    if str(root) not in sys.path:
        sys.path.append(str(root))
    return importlib.import_module(name)


@cache
def porous(case: str, name: str) -> Material:
    """Material of `[material.NAME]` in a case file (keys: README of the cases)."""
    data = definition(case)["material"][name]
    w_s = data["saturation_content"]
    storage = VanGenuchten(
        w_s, tuple((t["share"], t["a"], t["n"], t["m"]) for t in data["retention"])
    )
    dry, per_water = data["conductivity"]
    vapour: Any = (
        BenchmarkPermeability(data["vapour"]["divisor"], w_s, storage)
        if "divisor" in data["vapour"]
        else ConstantPermeability(data["vapour"]["permeability"])
    )
    return Material(
        key=name,
        name=name,
        group="benchmark",
        density=1000.0,
        heat_capacity=data["dry_heat_capacity"] / 1000.0,
        pore_volume=w_s / 1000.0,
        storage=storage,
        vapour=vapour,
        thermal=LinearConductivity(dry, per_water),
        liquid=_liquid(data["liquid"], w_s),
        absorbent=data["liquid"]["kind"] != "none",
    )


def _liquid(data: Data, w_s: float) -> Liquid | None:
    kind = data["kind"]
    if kind == "none":
        return None
    if kind == "diffusivity":
        return ConstantDiffusivity(data["value"])
    if kind == "power":
        return PowerConductivity(data["saturated"], data["exponent"], w_s)
    scaled = tuple(c * data["scale"] ** k for k, c in enumerate(data["coefficients"]))
    return PolynomialConductivity(data["shift"], scaled, "as printed")


def solid(name: str, conductivity: float, capacity: float) -> Material:
    """A material without moisture: λ [W/(m·K)] and volumetric heat [J/(m³·K)]."""
    return Material(
        key=name,
        name=name,
        group="benchmark",
        density=1000.0,
        heat_capacity=capacity / 1000.0,
        pore_volume=1e-6,
        storage=LinearStorage(1e-4),  # 0.4 J/(m³·K), nothing beside the solid
        vapour=ConstantPermeability(TIGHT),
        thermal=ConstantConductivity(conductivity),
    )


def case_wall(case: str, *, reverse: bool = False, imposed: bool = False) -> Wall:
    """Wall of a case file, without sun and sky; `reverse` where x runs from inside."""
    data = definition(case)
    layers = [
        Layer(
            porous(case, x["material"]), x["thickness"], name=x["name"], initial=_initial(case, x)
        )
        for x in data["layer"]
    ]
    if reverse:
        layers.reverse()
    return Wall(case, tuple(layers), outside=bare(imposed=imposed), inside=Inside(imposed=imposed))


def _initial(case: str, layer: Data) -> Initial:
    T = layer["initial_temperature"]
    if "initial_humidity" in layer:
        return Initial(rh=layer["initial_humidity"], temperature=T)
    density = porous(case, layer["material"]).density
    return Initial(moisture_content=layer["initial_content"] / density, temperature=T)


def bare(*, imposed: bool = False) -> Outside:
    """An outdoor surface without sun, sky and rain methods: the loads say it all."""
    return Outside(rain="none", emissivity=0.0, imposed=imposed)


def air(temperature: float, humidity: float) -> tuple[float, float]:
    """Temperature [K] and vapour pressure [Pa] of a state; saturation of ISO 13788."""
    return temperature, humidity * float(saturation_pressure(temperature, over="iso13788"))


def still_loads(case: str, hours: int) -> Loads:
    """Constant loads of a case file with its film coefficients."""
    data = definition(case)
    states, films = [], []
    for name in ("outside", "inside"):
        entry = data[name]
        states.append(air(entry["temperature"], entry["humidity"]))
        films.append((entry["heat"], entry["vapour"]))
    return constant_loads(
        hours, *states, outdoor_coefficients=films[0], indoor_coefficients=films[1]
    )


def from_surface(grid: Grid, surface: float, values: Array) -> PchipInterpolator:
    """A profile over the depth [m], with the value at the outdoor surface where no node stands."""
    if grid.node[0] == 0.0:
        return PchipInterpolator(grid.node, values)
    return PchipInterpolator(np.r_[0.0, grid.node], np.r_[surface, values])


def growing(thickness: float, first: float, ratio: float, largest: float = np.inf) -> Array:
    """Cells that grow from the outer face. [m]"""
    sizes = [first]
    while sum(sizes) < thickness:
        sizes.append(min(sizes[-1] * ratio, largest))
    found = np.array(sizes)
    return found * (thickness / found.sum())


def both_ways(thickness: float, first: float, ratio: float, largest: float = np.inf) -> Array:
    """Cells that grow from both faces. [m]"""
    half = growing(0.5 * thickness, first, ratio, largest)
    return np.concatenate([half, half[::-1]])
