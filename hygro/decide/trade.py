"""What the trade varies, by its own names. Owns the names, their bounds and what each one changes.

Resistances are those of the rating, at 50 % RH, as the key `resistance` of a layer has them.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from hygro.decide.base import Base
from hygro.decide.insulation import (
    cavity_now,
    cavity_r,
    outboard_now,
    outboard_r,
    share,
    share_now,
)
from hygro.decide.leaking import air_leak, leak_now, rain_leak
from hygro.decide.sheets import (
    change_now,
    gap_change,
    inner_now,
    inner_sheet,
    outer_now,
    outer_sheet,
)
from hygro.decide.slot import Put, Slot, number_slot
from hygro.decide.surroundings import (
    another_room,
    azimuth_now,
    climate_file,
    climate_key,
    orientation,
    room_name,
    start_moisture,
    winter_now,
    winter_rh,
)
from hygro.errors import InputError
from hygro.types import Plain


class Trade(NamedTuple):
    """A quantity of the trade.

    Attributes
    ----------
    says : str
        For tables and axes.
    quantity : str
        A name in `hygro.quantities.QUANTITIES`.
    low, high : float
        Bounds in SI.
    likely : str
        Unit in which people write it.
    put : callable
        From the run and the element that is meant to what a value changes.
    now : callable
        The value that the run as written has, in SI; None where it has none. [SI]
    """

    says: str
    quantity: str
    low: float
    high: float
    likely: str
    put: Callable[[str, Base, str | None], Put]
    now: Callable[[str, Base, str | None], float | None] = lambda _name, _base, _at: None


def trade_slot(name: str, base: Base, at: str | None) -> Slot:
    """Return the slot of a name of `TRADE`; raises `InputError` where there is no such thing."""
    row = TRADE[name]
    put = row.put(name, base, at)
    if name in _WHOLE:
        return _whole_number(name, row, put)
    if name == "climate":
        return Slot(name, "", _file_name, put)
    if name == "room":
        return Slot(name, "", lambda value: room_name(value, base), put)
    bounds, now = (row.low, row.high), row.now(name, base, at)
    return number_slot(name, row.quantity, bounds, put, likely=row.likely, now=now)


def _whole_number(name: str, row: Trade, put: Put) -> Slot:
    def read(value: Plain) -> int:
        number = isinstance(value, int | float) and not isinstance(value, bool)
        if not number or value != int(value) or not row.low <= value <= row.high:
            raise InputError(
                f"{name} = {value!r}: must be a whole number from {row.low:g} to {row.high:g}"
            )
        return int(value)

    return Slot(name, "", read, put)


def _file_name(value: Plain) -> str:
    if not isinstance(value, str) or not value:
        raise InputError(f"climate = {value!r}: must be the name of a weather file")
    return value


TRADE: dict[str, Trade] = {
    "outboard_share": Trade(
        "outboard share of insulation", "fraction", 0.0, 1.0, "%", share, share_now
    ),
    "outboard_R": Trade(
        "outboard R", "thermal resistance", 0.0, 100.0, "", outboard_r, outboard_now
    ),
    "cavity_R": Trade("cavity R", "thermal resistance", 0.0, 100.0, "", cavity_r, cavity_now),
    "winter_rh": Trade("indoor RH in winter", "fraction", 0.01, 0.99, "%", winter_rh, winter_now),
    "rain_leak": Trade(
        "rain leak", "fraction", 0.0, 1.0, "%", rain_leak, leak_now("rain", "fraction")
    ),
    "air_leak": Trade(
        "air leak", "air flow", 0.0, 0.1, "L/(s.m2)", air_leak, leak_now("air", "rate")
    ),
    "gap_air_change": Trade(
        "air change of the gap", "air change", 0.0, 1e5, "", gap_change, change_now
    ),
    "outer_permeance": Trade(
        "permeance of the outer sheet", "permeance", 1e-15, 1e-6, "perm", outer_sheet, outer_now
    ),
    "inner_permeance": Trade(
        "permeance of the inner sheet", "permeance", 1e-15, 1e-6, "perm", inner_sheet, inner_now
    ),
    "orientation": Trade("orientation", "angle", 0.0, 360.0, "", orientation, azimuth_now),
    "room": Trade("room", "", 0, 0, "", another_room),
    "start_month": Trade("month of the start", "", 1, 12, "", climate_key("start_month")),
    "start_moisture": Trade(
        "moisture content at the start", "fraction", 0.0, 20.0, "%", start_moisture
    ),
    "climate": Trade("climate file", "", 0, 0, "", climate_file),
    "year": Trade("year of the weather", "", 1, 10_000, "", climate_key("year")),
}
"""What a study may vary by name."""
_WHOLE = ("start_month", "year")
