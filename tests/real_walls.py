"""Plain materials, walls and constant loads for tests of gaps, leaks and what interrupts layers.

Owns no expected value.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from hygro.material import Material, SheetMaterial, library
from hygro.material.storage import TableStorage
from hygro.material.thermal import ConstantConductivity
from hygro.material.vapour import ConstantMu, ConstantPermeability, SheetConstant
from hygro.wall.elements import Gap, Layer, Membrane
from hygro.wall.loads import LEWIS, Loads, SurfaceLoads, constant_loads
from hygro.wall.surfaces import Inside, Outside
from hygro.wall.wall import Wall

H_OUT, H_IN = 25.0, 8.0
"""Heat transfer at the surfaces of the constant loads. [W/(m²·K)]"""
BETA_OUT, BETA_IN = 25.0 * LEWIS, 2.5 * LEWIS
STILL = Outside(rain="none", emissivity=0.0, absorptance=0.0)
"""No radiation and no rain."""
TIGHT = SheetMaterial("tight", "tight sheet", "own", SheetConstant(1e-18))
"""Lets next to nothing pass: 1e-18 kg/(m²·s·Pa)."""


def plain(
    conductivity: float,
    permeability: float = 2e-11,
    *,
    density: float = 100.0,
    capacity: float = 500.0,
    w_free: float = 10.0,
    pores: float = 0.5,
    air_permeability: float | None = None,
) -> Material:
    """A material whose conductivity and permeability depend on nothing, with a little storage."""
    return Material(
        key=f"plain-{conductivity:g}-{permeability:g}",
        name="plain",
        group="own",
        density=density,
        heat_capacity=capacity,
        pore_volume=pores,
        storage=TableStorage(rh=((0.5, 0.3 * w_free), (0.9, 0.6 * w_free)), w_free=w_free),
        vapour=ConstantPermeability(permeability),
        thermal=ConstantConductivity(conductivity),
        air_permeability=air_permeability,
    )


def air_like(conductivity: float) -> Material:
    """A material that diffusion passes like still air."""
    return replace(plain(conductivity), vapour=ConstantMu(1.0))


def steady_loads(
    hours: int,
    outdoor: tuple[float, float],
    indoor: tuple[float, float],
    *,
    rates: tuple[float, ...] = (),
    sources: int = 0,
) -> Loads:
    """Constant loads with given exchange of each gap [m³/(s·m²)]."""
    loads = constant_loads(
        hours,
        outdoor,
        indoor,
        outdoor_coefficients=(H_OUT, BETA_OUT),
        indoor_coefficients=(H_IN, BETA_IN),
        gaps=len(rates),
        sources=sources,
    )
    return replace(loads, gap_rate=np.tile(np.array(rates, dtype=float), (hours, 1)))


def surface(*values: float) -> SurfaceLoads:
    """Temperature, vapour pressure, heat and vapour coefficient of one hour without sun or rain."""
    return SurfaceLoads(*(np.array([value]) for value in (*values, 0.0, 0.0)))


def typical(gap: Gap | None = None, **more: object) -> Wall:
    """An exterior-insulated wall of library materials, from cladding to paint."""
    get = library.get

    def layer(name: str, key: str, thickness: float) -> Layer:
        material = get(key)
        assert isinstance(material, Material)
        return Layer(material, thickness, name=name)

    def sheet(name: str, key: str) -> Membrane:
        material = get(key)
        assert isinstance(material, SheetMaterial)
        return Membrane(material, name=name)

    return Wall(
        "typical",
        (
            layer("cladding", "fibre-cement", 0.008),
            gap or Gap("gap", 0.019, 100.0),
            layer("outboard", "mineral-wool-board", 0.100),
            sheet("barrier", "membrane-35-perm"),
            layer("sheathing", "osb", 0.011),
            layer("batt", "glass-wool-batt", 0.140),
            layer("gypsum", "gypsum-board", 0.013),
            sheet("paint", "latex-paint"),
        ),
        **more,
    )


def sealed(layer: Layer, **more: object) -> Wall:
    """One layer between two tight sheets: nothing passes its surfaces."""
    elements = (Membrane(TIGHT, name="outer sheet"), layer, Membrane(TIGHT, name="inner sheet"))
    return Wall("sealed", elements, outside=STILL, inside=Inside(), **more)


AT_CORE: dict[str, object] = {"at": "core", "depth": 0.02}
