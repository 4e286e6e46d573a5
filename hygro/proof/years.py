"""Real typical years for the checks that need one, where an installed package carries them.

Owns where they lie and the walls of these checks; a missing package leaves a check not run.
"""

from __future__ import annotations

import importlib.util
from functools import cache
from pathlib import Path
from typing import NamedTuple

import xarray as xr

import weather
from hygro.material import Material, SheetMaterial
from hygro.material.library import get
from hygro.wall.elements import Gap, Initial, Layer, Membrane
from hygro.wall.surfaces import Outside
from hygro.wall.wall import Wall
from weather.series import repeat_years

JULY = 4344
"""Hours from 1 January to 1 July of a common year."""
YEAR = 8760
DRY = Initial(rh=0.6)


class Station(NamedTuple):
    """A typical year: place, thermal zone (ASHRAE 169, from memory), package and file."""

    place: str
    zone: str
    package: str
    file: str


STATIONS = {
    "4": Station("Greensboro NC", "4A", "pvlib", "data/723170TYA.CSV"),
    "5": Station("Chicago IL", "5A", "diyepw",
                 "data/tmy_epw_files/USA_IL_Chicago.OHare.Intl.AP.725300_TMY3.epw"),
    "7": Station("Sand Point AK", "7", "pvlib", "data/703165TY.csv"),
    "8": Station("Northway AK", "8", "diyepw",
                 "data/tmy_epw_files/USA_AK_Northway.AP.702910_TMY3.epw"),
}  # fmt: skip


def path_of(station: Station) -> Path | None:
    """Its file, None where the package is not installed or no longer ships it."""
    spec = importlib.util.find_spec(station.package)
    if spec is None or not spec.submodule_search_locations:
        return None
    path = Path(spec.submodule_search_locations[0]) / station.file
    return path if path.is_file() else None


@cache
def winter_year(zone: str) -> xr.Dataset | None:
    """Typical year from July to June, so that the winter lies in the middle; None: not here."""
    path = path_of(STATIONS[zone])
    if path is None:
        return None
    twice = repeat_years(weather.read(path), 2)
    return twice.isel(time=slice(JULY, JULY + YEAR))


def layer(name: str, key: str, thickness: float, start: Initial = DRY) -> Layer:
    """Layer of a library material."""
    material = get(key)
    assert isinstance(material, Material)
    return Layer(material, thickness, name=name, initial=start)


def sheet(name: str, key: str) -> Membrane:
    """Sheet of a library material."""
    material = get(key)
    assert isinstance(material, SheetMaterial)
    return Membrane(material, name=name)


def framed(
    name: str,
    *,
    outboard: tuple[str, float] | None,
    cavity: float = 0.14,
    inner: tuple[str, ...] = ("latex-paint",),
    osb: Initial = DRY,
) -> Wall:
    """Vented cladding, outboard insulation (key, thickness [m]), membrane, OSB, wool, gypsum.

    Sheets of `inner` other than paint stand behind the gypsum board. No rain, facing north.
    """
    elements: list[Layer | Membrane | Gap] = [
        layer("cladding", "fibre-cement", 0.008),
        Gap("vented gap", 0.019, 100.0),
    ]
    if outboard is not None:
        elements.append(layer("outboard", *outboard))
    elements += [sheet("membrane", "membrane-35-perm"), layer("osb", "osb", 0.011, osb)]
    if cavity:
        elements.append(layer("cavity", "glass-wool-batt", cavity))
    elements += [sheet(key, key) for key in inner if "paint" not in key]
    elements.append(layer("gypsum", "gypsum-board", 0.0125))
    elements += [sheet(key, key) for key in inner if "paint" in key]
    return Wall(name, tuple(elements), azimuth=0.0, outside=Outside(rain="none"))
