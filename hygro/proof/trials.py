"""Five walls and their loads on which the engine is compared with other integrators.

Owns what is compared; knows no integrator. The place and its weather are invented.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from types import MappingProxyType
from typing import NamedTuple

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from hygro.material import Material, SheetMaterial
from hygro.material.library import get
from hygro.room.models import Seasonal
from hygro.wall.elements import Gap, Initial, Layer, Membrane
from hygro.wall.leaks import AirLeak, Leaks, RainLeak
from hygro.wall.loads import Loads, build_loads, constant_loads
from hygro.wall.surfaces import Inside, Outside
from hygro.wall.wall import Wall
from weather import MonthlyNormals, generate
from weather import Place as Site
from weather.moistair import saturation_pressure

ROOM = Seasonal(294.15, 297.15, 0.40, 0.55)
"""21 °C and 40 % in winter, 24 °C and 55 % in summer: common practice, no source."""


class Trial(NamedTuple):
    """A wall, its loads, explicit cell sizes [m] (or none), and the layer to watch."""

    wall: Wall
    loads: Loads
    cells: dict[str, NDArray[np.float64]] | None
    watch: str


@cache
def climate() -> xr.Dataset:
    """One invented year: cold winters, wet summers; generated from the normals below."""
    wave = np.cos(2.0 * np.pi * (np.arange(12) - 0.5) / 12.0)  # 1 in mid January
    sun = np.cos(2.0 * np.pi * np.arange(12) / 12.0 + 0.1)
    normals = MonthlyNormals(
        place=Site(
            name="Rellanby (invented)", latitude=50.0, longitude=-90.0, altitude=200.0,
            utc_offset_hours=-6.0,
        ),
        temperature=tuple(276.15 - 15.0 * wave),
        daily_range=(9.0,) * 12,
        temperature_spread=tuple(4.5 + 1.5 * wave),
        relative_humidity=tuple(0.72 + 0.06 * wave),
        wind_speed=(4.0,) * 12,
        wind_rose=((0.125,) * 8,),
        global_horizontal=tuple(125.0 - 85.0 * sun),
        rain_days=(11.0,) * 12,
        precipitation=tuple(70.0 - 20.0 * wave),
    )  # fmt: skip
    return generate(normals, years=1, seed=11)


def season(first: int, hours: int) -> xr.Dataset:
    """A part of the invented year, from its hour `first` on."""
    return climate().isel(time=slice(first, first + hours))


def _layer(name: str, key: str, thickness: float, rh: float = 0.8) -> Layer:
    material = get(key)
    assert isinstance(material, Material)
    return Layer(material, thickness, name=name, initial=Initial(rh=rh))


def _sheet(name: str, key: str) -> Membrane:
    material = get(key)
    assert isinstance(material, SheetMaterial)
    return Membrane(material, name=name)


def framed() -> Wall:
    """Fibre cement, vented gap, membrane, board, wool, board, paint."""
    return Wall(
        "framed wall",
        (
            _layer("cladding", "fibre-cement", 0.008),
            Gap("vented gap", 0.019, 50.0),
            _sheet("barrier", "membrane-35-perm"),
            _layer("sheathing", "osb", 0.011),
            _layer("wool", "glass-wool-batt", 0.14, 0.5),
            _layer("board", "gypsum-board", 0.013, 0.5),
            _sheet("paint", "latex-paint"),
        ),
    )


def ventilated() -> Wall:
    """Wood cladding over a well ventilated gap, a rain leak behind the membrane."""
    return Wall(
        "ventilated gap with rain",
        (
            _layer("cladding", "spruce-cladding", 0.019),
            Gap("ventilated gap", 0.025, 200.0),
            _sheet("barrier", "membrane-50-perm"),
            _layer("wool outside", "mineral-wool-board", 0.05, 0.6),
            _layer("sheathing", "plywood", 0.012),
            _layer("wool", "glass-wool-batt", 0.14, 0.5),
            _sheet("kraft", "kraft-facing"),
            _layer("board", "gypsum-board", 0.013, 0.5),
            _sheet("paint", "latex-paint"),
        ),
        azimuth=180.0,
        leaks=Leaks(rain=(RainLeak("sheathing"),)),
    )


def brick() -> Wall:
    """Brick facing south, wetted by rain and dried by the sun, insulated inside."""
    return Wall(
        "rain-wet brick with sun",
        (
            _layer("brick", "clay-brick-absorbent", 0.09),
            _layer("insulation", "mineral-wool-board", 0.08, 0.6),
            _layer("plaster", "gypsum-plaster", 0.015, 0.5),
        ),
        azimuth=180.0,
        outside=Outside(absorptance=0.7),
    )


def outboard() -> Wall:
    """All insulation outside of the board, and room air leaking to it."""
    return Wall(
        "all outboard with air leak",
        (
            _layer("cladding", "fibre-cement", 0.008),
            Gap("vented gap", 0.019, 100.0),
            _layer("outboard wool", "mineral-wool-board", 0.15, 0.6),
            _sheet("barrier", "membrane-self-adhered"),
            _layer("sheathing", "osb", 0.011),
            Gap("empty cavity", 0.14),
            _layer("board", "gypsum-board", 0.013, 0.5),
            _sheet("paint", "latex-paint"),
        ),
        azimuth=270.0,
        leaks=Leaks(air=(AirLeak("sheathing", rate=1e-4),)),
    )


def concrete_step(hours: int) -> Trial:
    """EN 15026:2007 annex A (from memory): step of the imposed surface state, 20 m deep."""
    start = Initial(rh=0.5, temperature=293.15)
    material = get("en15026-concrete")
    assert isinstance(material, Material)
    wall = Wall(
        "EN 15026 concrete",
        (Layer(material, 20.0, name="concrete", initial=start, thick=True),),
        outside=Outside(rain="none", imposed=True, emissivity=0.0),
        inside=Inside(imposed=True),
    )
    p = saturation_pressure(np.array([303.15, 293.15]), over="iso13788")
    loads = constant_loads(hours, (303.15, 0.95 * p[0]), (293.15, 0.5 * p[1]))
    # 1 mm at the surface, growing by 15 % per cell
    sizes = np.array([1e-3 * 1.15**k for k in range(57)])
    return Trial(wall, loads, {"concrete": sizes}, "concrete")


def trials(hours: int, *, first: int = 6768) -> Mapping[str, Trial]:
    """The five walls by short names, over `hours` from hour `first` of the invented year on."""
    found = {"concrete": concrete_step(hours)}
    for name, wall, watch in (
        ("framed", framed(), "sheathing"),
        ("ventilated", ventilated(), "sheathing"),
        ("brick", brick(), "brick"),
        ("outboard", outboard(), "sheathing"),
    ):
        found[name] = Trial(wall, build_loads(wall, season(first, hours), ROOM), None, watch)
    return MappingProxyType(found)


def turned(trial: Trial, azimuth: float, hours: int, *, first: int) -> Trial:
    """The same wall facing elsewhere, with its own loads."""
    wall = replace(trial.wall, azimuth=azimuth)
    return trial._replace(wall=wall, loads=build_loads(wall, season(first, hours), ROOM))
