"""From a room table to the room as a value. Owns that step alone; the rules are in `hygro.wall`."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from hygro.case.room_entry import (
    BalanceRoom,
    ConstantRoom,
    ExcessRoom,
    FileRoom,
    IntermediateRoom,
    PresetRoom,
    RoomKind,
    RuleRoom,
    SeasonalRoom,
)
from hygro.case.trouble import CaseError, Problem
from hygro.errors import InputError
from hygro.wall.room_balance import HOUR, Ashrae160Intermediate, Balance
from hygro.wall.room_hourly import COLUMNS, HourlyRoom
from hygro.wall.room_models import Constant, Room, Seasonal
from hygro.wall.room_presets import moisture_excess, outdoor_rule, room_preset
from hygro.wall.room_time import always


def room(entry: RoomKind, folder: Path) -> Room:
    """Build the room that a table of the case describes; a file is sought in `folder`.

    Raises
    ------
    InputError
        An unknown rule or use, or values that contradict each other; `CaseError` with all that is
        wrong with a file.
    """
    match entry:
        case ConstantRoom():
            return Constant(entry.temperature, entry.rh)
        case SeasonalRoom():
            return Seasonal(**entry.model_dump(exclude={"kind"}))
        case RuleRoom():
            rule = outdoor_rule(entry.rule)
            given = entry.temperature
            return rule if given is None else replace(rule, temperature=given)
        case ExcessRoom():
            return moisture_excess(
                entry.rule,
                temperature=entry.temperature,
                margin=entry.margin,
                rh_limit=entry.rh_limit,
            )
        case PresetRoom():
            return room_preset(entry.use)
        case IntermediateRoom():
            return Ashrae160Intermediate(**entry.model_dump(exclude={"kind"}))
        case BalanceRoom():
            return _balance(entry)
        case FileRoom():
            return _hourly(entry, folder / entry.file)


def _balance(entry: BalanceRoom) -> Balance:
    flow = entry.volume / HOUR
    return Balance(
        volume=entry.volume,
        ventilation=always(entry.air_change * flow),
        production=always(entry.production),
        occupants=always(entry.occupants),
        temperature=entry.temperature,
        open_window=entry.open_window_air_change * flow,
        humidify_to=entry.humidify_to,
        dehumidify_to=entry.dehumidify_to,
        initial_rh=entry.initial_rh,
    )


def _hourly(entry: FileRoom, path: Path) -> HourlyRoom:
    named = {key: getattr(entry, key) for key in COLUMNS}
    try:
        return HourlyRoom.read(
            path, time=entry.time, **{key: tuple(v) for key, v in named.items() if v is not None}
        )
    except InputError as error:
        raise CaseError(
            path, [Problem("file", text) for text in str(error).splitlines()]
        ) from error
