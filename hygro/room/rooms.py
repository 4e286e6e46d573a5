"""Every kind of room as one field type, and rooms by their names. Owns the list."""

from __future__ import annotations

from typing import Annotated, get_args

from pydantic import Field

from hygro.data_files import table
from hygro.declare import read_or_refuse
from hygro.errors import InputError, must_be, near_matches
from hygro.room.balance import Ashrae160Intermediate, Balance
from hygro.room.hourly import HourlyRoom
from hygro.room.models import Constant, MoistureExcess, OutdoorRule, Room, Seasonal
from hygro.room.presets import Preset, preset_names

AnyRoom = Annotated[
    Constant
    | Seasonal
    | OutdoorRule
    | MoistureExcess
    | Preset
    | Ashrae160Intermediate
    | Balance
    | HourlyRoom,
    Field(discriminator="kind"),
]


def get_room(name: str, **values: object) -> Room:
    """Return a room by the name of its rule or use, or by its kind and values.

    Parameters
    ----------
    name : str
        A rule of indoor humidity ("en15026_high") or of vapour excess ("iso13788_class3"), a use
        ("dwelling_normal"), or a kind as in a case file ("constant", "seasonal", "balance", ...).
    **values
        The keys of that kind: `get_room("constant", temperature="21 degC", rh="40 %")`.

    Raises
    ------
    InputError
        An unknown name, with near matches; every wrong or missing value.
    """
    must_be(name, str, "room", "the name of a room, a text")
    named = {
        **dict.fromkeys(table("hygro.room", "rules")["rh"], ("rule", "rule")),
        **dict.fromkeys(table("hygro.room", "rules")["excess"], ("excess", "rule")),
        **dict.fromkeys(preset_names(), ("preset", "use")),
    }
    if name in named:
        kind, key = named[name]
        return read_or_refuse(AnyRoom, {"kind": kind, key: name, **values}, "room")
    kinds = [kind.__dataclass_fields__["kind"].default for kind in get_args(get_args(AnyRoom)[0])]
    if name not in kinds:
        raise InputError(f"room '{name}': unknown; {near_matches(name, [*named, *kinds])}")
    return read_or_refuse(AnyRoom, {"kind": name, **values}, "room")
