"""The walls on which the whole error is measured, and their weather. Owns the list, runs nothing.

Weather: typical years that come with two packages (pvlib; diyepw installed without dependencies).
The rain of the Greensboro file is not used; the Miami file has none.
"""

from __future__ import annotations

import importlib.util
from collections.abc import Callable, Mapping
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import NamedTuple

import xarray as xr

import weather
from hygro.errors import InputError
from hygro.proof.years import layer, sheet
from hygro.room.models import OutdoorRule
from hygro.wall.elements import Gap, Initial, Layer, Membrane, Openings
from hygro.wall.leaks import AirLeak, RainLeak
from hygro.wall.loads import Loads, build_loads, loads_between
from hygro.wall.surfaces import Outside
from hygro.wall.wall import Wall
from weather.series import repeat_years

HOURS = 2 * 8760
NO_RAIN = Outside(rain="none")
Elements = list[Layer | Membrane | Gap]
FILES: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        "Chicago": (
            "diyepw",
            "data/tmy_epw_files/USA_IL_Chicago.OHare.Intl.AP.725300_TMY3.epw",
        ),
        "Northway": ("diyepw", "data/tmy_epw_files/USA_AK_Northway.AP.702910_TMY3.epw"),
        "Greensboro": ("pvlib", "data/723170TYA.CSV"),
        "Miami": ("pvlib", "data/12839.tm2"),
    }
)


class Case(NamedTuple):
    """A wall, its place and room rule, and the layer whose faces are watched."""

    wall: Wall
    place: str
    watch: str = "osb"
    room: str = "en15026_high"

    def loads(self, hours: int = HOURS) -> Loads:
        """Hourly loads from 1 January on."""
        whole = build_loads(self.wall, _years(self.place), OutdoorRule(self.room))
        return loads_between(whole, 0, hours)


@cache
def _years(place: str) -> xr.Dataset:
    """A typical year twice over; raises `InputError` where its package is not installed."""
    package, file = FILES[place]
    spec = importlib.util.find_spec(package)
    if spec is None or not spec.submodule_search_locations:
        raise InputError(f"{package} is not installed: pip install --no-deps {package}")
    return repeat_years(weather.read(Path(spec.submodule_search_locations[0]) / file), 2)


def _inside(cavity: float = 0.14, retarder: str | None = None) -> Elements:
    """Glass wool, perhaps a sheet, gypsum board, paint."""
    wool = [layer("cavity", "glass-wool-batt", cavity)] if cavity else []
    film = [sheet("retarder", retarder)] if retarder else []
    board = [layer("gypsum", "gypsum-board", 0.0125), sheet("paint", "latex-paint")]
    return [*wool, *film, *board]


def _vented(air_change: float | Openings = 100.0) -> Elements:
    """Fibre cement in front of a gap of 19 mm."""
    return [layer("cladding", "fibre-cement", 0.008), Gap("gap", 0.019, air_change)]


def _osb(start: Initial | None = None) -> Layer:
    return layer("osb", "osb", 0.011, start) if start else layer("osb", "osb", 0.011)


def stucco() -> Case:
    """Wet stucco warmed by the sun drives water inward, to the polyethylene."""
    parts = [
        layer("stucco", "stucco", 0.022),
        sheet("paper", "building-paper"),
        _osb(),
        *_inside(retarder="polyethylene-150um"),
    ]
    leak = RainLeak("osb")
    return Case(Wall("stucco", tuple(parts), azimuth=180.0, leaks=[leak]), "Chicago")


def foam() -> Case:
    """Foam outside of the sheathing behind a gap that its own warmth ventilates."""
    parts = [*_vented(Openings(0.005, 2.5)), layer("foam", "xps", 0.05), _osb(), *_inside()]
    return Case(Wall("foam", tuple(parts), azimuth=180.0, outside=NO_RAIN), "Greensboro")


def cavity() -> Case:
    """All insulation in the cavity, rain leaking to the sheathing and room air behind it."""
    parts = [*_vented(), sheet("membrane", "membrane-35-perm"), _osb(), *_inside()]
    wall = Wall(
        "cavity", tuple(parts), azimuth=180.0,
        leaks=[RainLeak("osb"), AirLeak("osb", rate=2e-5)],
    )  # fmt: skip
    return Case(wall, "Chicago")


def brick_wool() -> Case:
    """Solid brick in the rain, insulated inside."""
    parts = [
        layer("brick", "brick-solid", 0.3),
        layer("wool", "mineral-wool-board", 0.08),
        *_inside(cavity=0.0),
    ]
    return Case(Wall("brick wool", tuple(parts), azimuth=180.0), "Chicago", "brick")


def outboard_wet() -> Case:
    """All insulation outboard, wet sheathing at the start, a rain leak."""
    parts = [
        *_vented(),
        layer("outboard", "mineral-wool-board", 0.14),
        sheet("membrane", "membrane-35-perm"),
        _osb(Initial(moisture_content=0.25)),
        *_inside(cavity=0.0),
    ]
    leak = RainLeak("osb")
    return Case(Wall("outboard wet", tuple(parts), azimuth=180.0, leaks=[leak]), "Chicago")


def thin_foam() -> Case:
    """Foam too thin to keep the sheathing warm."""
    parts = [*_vented(), layer("foam", "xps", 0.025), _osb(), *_inside()]
    return Case(Wall("thin foam", tuple(parts), outside=NO_RAIN), "Chicago")


def two_thirds() -> Case:
    """Two thirds of the insulation outboard of the sheathing."""
    parts = [
        *_vented(),
        layer("outboard", "mineral-wool-board", 0.12),
        sheet("membrane", "membrane-35-perm"),
        _osb(),
        *_inside(cavity=0.06),
    ]
    return Case(Wall("two thirds", tuple(parts), outside=NO_RAIN), "Chicago")


def brick_sun() -> Case:
    """Absorbent brick facing south, wetted by rain and dried by the sun."""
    parts = [
        layer("brick", "clay-brick-absorbent", 0.09),
        layer("wool", "mineral-wool-board", 0.08),
        layer("plaster", "gypsum-plaster", 0.015),
    ]
    wall = Wall("brick sun", tuple(parts), azimuth=180.0, outside=Outside(absorptance=0.7))
    return Case(wall, "Chicago", "brick")


def calcium_silicate() -> Case:
    """Rendered brick with capillary-active insulation inside."""
    parts = [
        layer("render", "lime-cement-render", 0.02),
        layer("brick", "brick-solid", 0.24),
        layer("silicate", "calcium-silicate", 0.05),
        layer("plaster", "lime-plaster", 0.01),
    ]
    return Case(Wall("calcium silicate", tuple(parts), azimuth=180.0), "Chicago", "brick")


def outboard_tight() -> Case:
    """All insulation outboard and polyethylene inside, where the outdoor air is warm and humid."""
    parts = [
        *_vented(),
        layer("outboard", "mineral-wool-board", 0.14),
        sheet("membrane", "membrane-35-perm"),
        _osb(),
        *_inside(cavity=0.0, retarder="polyethylene-150um"),
    ]
    return Case(Wall("outboard tight", tuple(parts), azimuth=180.0, outside=NO_RAIN), "Miami")


def cold_cavity() -> Case:
    """All insulation in the cavity, wet sheathing, long frost."""
    wet = Initial(moisture_content=0.25)
    parts = [*_vented(), sheet("membrane", "membrane-35-perm"), _osb(wet), *_inside()]
    return Case(Wall("cold cavity", tuple(parts), outside=NO_RAIN), "Northway")


_ALL: tuple[Callable[[], Case], ...] = (
    stucco, foam, cavity, brick_wool, outboard_wet, thin_foam, two_thirds, brick_sun,
    calcium_silicate, outboard_tight, cold_cavity,
)  # fmt: skip


@cache
def cases() -> Mapping[str, Case]:
    """The walls by name."""
    return MappingProxyType({case.wall.name: case for case in (make() for make in _ALL)})
