"""Materials with simple properties for tests against closed forms. Owns no test."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from hygro.material import Material
from hygro.material.storage import LinearStorage
from hygro.material.thermal import ConstantConductivity
from hygro.material.vapour import ConstantPermeability
from hygro.wall.elements import Initial, Layer
from hygro.wall.loads import Loads, constant_loads
from hygro.wall.surfaces import Inside, Outside
from hygro.wall.wall import Wall
from weather.moistair import saturation_pressure


def plain(**change: object) -> Material:
    """A tight, inert solid; any property replaced by name."""
    material = Material(
        key="plain",
        name="plain",
        group="idealised",
        density=1000.0,
        heat_capacity=1000.0,
        pore_volume=0.5,
        storage=LinearStorage(slope=1e-3),
        vapour=ConstantPermeability(1e-18),
        thermal=ConstantConductivity(1.0),
    )
    return replace(material, **change)


def solid(conductivity: float, capacity: float) -> Material:
    """Heat only; capacity in J/(m³·K)."""
    return plain(density=capacity / 1000.0, thermal=ConstantConductivity(conductivity))


def slab(
    material: Material, thickness: float, start: Initial, *, imposed: bool, name: str = "slab"
) -> Wall:
    """One layer between two surfaces without radiation."""
    return Wall(
        name,
        (Layer(material, thickness, name="slab", initial=start, thick=True),),
        outside=Outside(rain="none", emissivity=0.0, imposed=imposed),
        inside=Inside(imposed=imposed),
    )


def held(
    hours: int, outdoor: tuple[float, float], indoor: tuple[float, float], **films: object
) -> Loads:
    """Constant (temperature [K], relative humidity [1]) on both sides."""
    T = np.array([outdoor[0], indoor[0]])
    p = np.array([outdoor[1], indoor[1]]) * saturation_pressure(T, over="iso13788")
    return constant_loads(hours, (T[0], p[0]), (T[1], p[1]), **films)


def growing(first: float, ratio: float, total: float) -> np.ndarray:
    """Cell sizes growing from the outdoor face to fill a thickness. [m]"""
    sizes = [first]
    while sum(sizes) < total:
        sizes.append(sizes[-1] * ratio)
    return np.array(sizes)
