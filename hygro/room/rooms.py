"""Every kind of room as one field type, and the constructor that people call. Owns the list."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import Field

from hygro.declare import read_or_refuse
from hygro.room.balance import Ashrae160Intermediate, Balance
from hygro.room.hourly import HourlyRoom
from hygro.room.models import Constant, MoistureExcess, OutdoorRule, Seasonal
from hygro.room.presets import Preset

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


def room(kind: str, **values: Any) -> Any:
    """Return a room: `room("constant", temperature="21 degC", rh="40 %")`.

    Parameters
    ----------
    kind : str
        As in a case file: constant, seasonal, rule, excess, preset, ashrae160 intermediate,
        balance, file.
    **values
        The keys of that kind, as in a case file.

    Raises
    ------
    InputError
        With every wrong or missing value.
    """
    return read_or_refuse(AnyRoom, {"kind": kind, **values}, "room")
