"""Loads as the functions of this package take them, and as a record stores them."""

from __future__ import annotations

import json

import xarray as xr

from hygro.constants import STANDARD_PRESSURE
from hygro.errors import InputError, brief, must_be
from hygro.record.provenance import climate_attributes
from hygro.room.models import Room
from hygro.wall.load_variables import LOADS
from hygro.wall.loads import LoadMaker, Loads, boundary, check_run
from hygro.wall.series import loads_of_arrays
from hygro.wall.wall import Wall


def given_loads(
    wall: Wall, given: xr.Dataset | Loads | LoadMaker, room: Room | None
) -> tuple[Loads, dict[str, object]]:
    """Loads of a wall, and what a record says of where they come from.

    Parameters
    ----------
    wall : Wall
        The wall.
    given : Dataset, LoadMaker or Loads
        With a room a climate of the `weather` package, or the maker of its loads; without one
        ready-made loads, or boundary data as `hygro.wall.loads.boundary` reads them.
    room : Room, optional
        Indoor climate rule.

    Raises
    ------
    InputError
        Loads together with a room, a climate without one, and what is wrong in them.
    """
    _check_types(wall, given, room)
    if isinstance(given, Loads):
        if room is not None:
            raise InputError(f"wall '{wall.name}': loads and a room: loads hold the indoor climate")
        loads, source = given, {}
    elif room is not None:
        maker = given if isinstance(given, LoadMaker) else LoadMaker(given)
        loads, source = maker.loads(wall, room), climate_attributes(maker.climate)
    else:
        climate = given.climate if isinstance(given, LoadMaker) else given
        loads, source = boundary(climate, wall), {}
    loads.check_bounds()
    return loads, source


def _check_types(wall: object, given: object, room: object) -> None:
    must_be(wall, Wall, "wall", "a hygro.Wall")
    assert isinstance(wall, Wall)
    if room is None:
        return  # loads, or boundary data that say themselves what they lack
    if not isinstance(given, Loads):
        check_run(wall, given.climate if isinstance(given, LoadMaker) else given, room)


def stored_loads(record: xr.Dataset) -> Loads:
    """The loads that a record was made with, to the bit; raises `InputError` where it lost them."""
    arrays = {
        row.name: record.variables[row.name].transpose(*row.dims).values
        for row in LOADS.values()
        if row.name in record.variables
    }
    try:
        told = tuple(map(str, json.loads(record.attrs["assumptions"])))
        pressure = float(record.attrs.get("air_pressure", STANDARD_PRESSURE))
    except (KeyError, TypeError, ValueError, RecursionError) as error:
        raise InputError(
            f"attributes 'assumptions' and 'air_pressure': cannot be read ({brief(str(error))})"
        ) from None
    return loads_of_arrays(record["time"].values, arrays, told, pressure)
