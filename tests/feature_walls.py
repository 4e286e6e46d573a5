"""One wall per feature of the engine, with loads that use it. Owns the list; asserts nothing."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType
from typing import NamedTuple

import numpy as np
from random_walls import random_loads

from hygro.material import Material, SheetMaterial
from hygro.material.library import get
from hygro.wall.elements import Gap, Initial, Layer, Membrane, Openings
from hygro.wall.leaks import AirLeak, RainLeak, Wetting
from hygro.wall.loads import Loads, constant_loads
from hygro.wall.surfaces import Inside, Outside
from hygro.wall.wall import Wall
from weather.moistair import saturation_pressure

HOURS = 240


class Feature(NamedTuple):
    """A wall with loads that bring the feature about."""

    wall: Wall
    loads: Loads


def layer(name: str, key: str, thickness: float, rh: float = 0.8, **more: object) -> Layer:
    material = get(key)
    assert isinstance(material, Material)
    return Layer(material, thickness, name=name, initial=Initial(rh=rh, **more))


def sheet(name: str, key: str) -> Membrane:
    material = get(key)
    assert isinstance(material, SheetMaterial)
    return Membrane(material, name=name)


def frame(gap: Gap | None = None, **more: object) -> Wall:
    """Cladding, perhaps a gap, board, wool, board, paint."""
    middle = (gap,) if gap is not None else ()
    parts = (
        layer("cladding", "fibre-cement", 0.008),
        *middle,
        sheet("barrier", "membrane-35-perm"),
        layer("sheathing", "osb", 0.011),
        layer("wool", "glass-wool-batt", 0.14, 0.5),
        layer("board", "gypsum-board", 0.013, 0.5),
        sheet("paint", "latex-paint"),
    )
    return Wall("framed", parts, **more)


def painted() -> Wall:
    """Plaster on brick with a coat between them that liquid passes and vapour hardly does."""
    parts = (
        layer("brick", "clay-brick", 0.1),
        sheet("coat", "latex-paint"),
        layer("plaster", "stucco", 0.015),
    )
    return Wall("painted", parts)


def brick(**more: object) -> Wall:
    """Absorbent brick, wool inside."""
    parts = (
        layer("brick", "clay-brick-absorbent", 0.09),
        layer("wool", "mineral-wool-board", 0.08, 0.6),
        layer("plaster", "gypsum-plaster", 0.015, 0.5),
    )
    return Wall("brick", parts, **more)


def cold_humid_loads(hours: int, outdoor: float = 253.15) -> Loads:
    """Frost outside, 21 °C and 70 % inside."""
    p = saturation_pressure(np.array([outdoor, 294.15]), over="iso13788")
    return constant_loads(hours, (outdoor, 0.8 * p[0]), (294.15, 0.7 * p[1]))


def condensing(hours: int = HOURS) -> Feature:
    """Wool between a tight cladding and a humid room: condensate and ice."""
    parts = (
        layer("cladding", "fibre-cement", 0.008),
        sheet("tight", "aluminium-foil"),
        layer("wool", "mineral-wool-board", 0.1, 0.5),
        layer("board", "gypsum-board", 0.013, 0.5),
    )
    wall = Wall("condensing", parts, outside=Outside(emissivity=0.0))
    return Feature(wall, cold_humid_loads(hours))


def imposed(hours: int = HOURS) -> Feature:
    parts = (layer("brick", "clay-brick", 0.1, 0.6), layer("plaster", "gypsum-plaster", 0.015))
    wall = Wall(
        "imposed", parts, outside=Outside(imposed=True, emissivity=0.0), inside=Inside(imposed=True)
    )
    p = saturation_pressure(np.array([278.15, 293.15]), over="iso13788")
    return Feature(wall, constant_loads(hours, (278.15, 0.9 * p[0]), (293.15, 0.5 * p[1])))


def _random(wall: Wall, seed: int, **change: object) -> Feature:
    wall = replace(wall, **change) if change else wall
    return Feature(wall, random_loads(wall, seed, HOURS))


def features() -> Mapping[str, Feature]:
    """By name. Seeds are picked so that it rains in the loads that need rain."""
    leak = RainLeak("sheathing", fraction=0.02)
    wet = Wetting("sheathing", 0.3, after=30, depth=0.004)
    flood = Wetting("sheathing", 2.0, after=30)
    air = AirLeak("sheathing", rate=2e-4)
    openings = Openings(area=0.005, height=2.5)
    return MappingProxyType(
        {
            "no gap": _random(frame(), 3),
            "closed gap": _random(frame(Gap("gap", 0.02)), 4),
            "ventilated gap": _random(frame(Gap("gap", 0.02, 100.0)), 5),
            "open gap": _random(frame(Gap("gap", 0.02, openings)), 6),
            "rain on brick": _random(brick(), 1),
            "coat on a contact": _random(painted(), 2),
            "rain leak": _random(frame(Gap("gap", 0.02, 50.0), leaks=[leak]), 1),
            "wetting": _random(frame(Gap("gap", 0.02, 50.0), leaks=[wet]), 7),
            "drained": _random(frame(Gap("gap", 0.02, 50.0), leaks=[flood]), 7),
            "air leak": Feature(frame(leaks=[air]), cold_sources(air)),
            "air flow in": _random(frame(air_flow=2e-4), 8),
            "air flow out": _random(frame(air_flow=-2e-4), 8),
            "ice and condensate": condensing(),
            "imposed surfaces": imposed(),
        }
    )


def cold_sources(leak: AirLeak) -> Loads:
    loads = cold_humid_loads(HOURS)
    return replace(loads, source=np.full((HOURS, 1), leak.rate))
