"""The canonical hourly Dataset: builds it, checks bounds, keeps its history; knows no file format.

dim `time`: naive local standard time, strictly hourly. Point variables hold at the stamp; means
and sums are over the hour that ends at the stamp. Every change is a line of `attrs["history"]`,
a JSON list.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Literal, NamedTuple

import numpy as np
import xarray as xr
from numpy.typing import ArrayLike

from weather import moistair
from weather.arrays import Array, Times
from weather.columns import Quantity
from weather.constants import ZERO_CELSIUS
from weather.errors import WeatherError, fault
from weather.stamps import check_hourly
from weather.variables import TABLE, attributes

Kind = Literal["typical year", "measured", "generated"]

SNOW_BELOW = ZERO_CELSIUS + 1.0
"""Air temperature below which precipitation is taken as snow; common practice, no source. [K]"""


class Place(NamedTuple):
    """Where the series belongs."""

    latitude: float
    """North positive. [degree]"""
    longitude: float
    """East positive. [degree]"""
    altitude: float
    """Above sea level. [m]"""
    utc_offset_hours: float
    """Local standard time minus UTC. [h]"""
    name: str = ""
    """For titles."""


CAUTIONS: dict[Kind, str] = {
    "typical year": "The weather is a typical, average year: such years are unsuitable for extreme "
    "moisture loads.",
    "generated": "The weather is generated from monthly normals: plausible, but never measured.",
}
"""What must stand beside every result that rests on weather of a kind; attribute `caution`."""

PLACE_BOUNDS = {
    "latitude": Quantity("degree", -90.0, 90.0, "is it a number of degrees, south negative?"),
    "longitude": Quantity("degree", -180.0, 180.0, "is it a number of degrees, west negative?"),
    "altitude": Quantity("m", -500.0, 6000.0, "is it in feet?"),
    "utc_offset_hours": Quantity("h", -14.0, 14.0, "is it in minutes?"),
}
"""What the numbers of a place may be; people live between −430 and 5100 m (from memory)."""


class Origin(NamedTuple):
    """Where the numbers come from."""

    source: str
    """File name without folder, or the generator's name."""
    sha256: str
    """Of the file."""
    kind: Kind
    """Typical year, measured or generated."""
    generated: str = "no"
    """"no", or "yes: ..." with what generated them."""


def origin_of(path: Path, kind: Kind) -> Origin:
    """Describe a file by name and hash."""
    return Origin(path.name, hashlib.sha256(path.read_bytes()).hexdigest(), kind)


def build(
    columns: Mapping[str, ArrayLike],
    time: Times,
    place: Place,
    origin: Origin,
    notes: Iterable[str] = (),
    *,
    snow_below: float = SNOW_BELOW,
) -> xr.Dataset:
    """Make the canonical dataset from SI columns.

    Parameters
    ----------
    columns : mapping of name to array
        Canonical variables in canonical units; NaN where missing. Columns without any value are
        left out and noted. One of relative_humidity and dew_point is needed.
    time : array of datetime64
        Hour-ending stamps, local standard time.
    place, origin : Place, Origin
        Site and source.
    notes : iterable of str
        First lines of the history.
    snow_below : float
        Precipitation at a lower air temperature is not rain. [K]

    Raises
    ------
    WeatherError
        On unknown variables, values out of bounds, a time axis that is not hourly, no temperature
        or no humidity.
    """
    history = list(notes)
    time = np.asarray(time).astype("datetime64[ns]")
    check_hourly(time, place=origin.source)
    check_place(place, origin.source)
    data = _present(columns, len(time), origin.source, history)
    _settle_humidity(data, origin.source, history)
    _settle_calm(data, history)
    for name, values in data.items():
        check_bounds(name, values, time, place=origin.source)
    dataset = xr.Dataset(
        {name: ("time", data[name], attributes(name)) for name in TABLE if name in data},
        coords={"time": ("time", time, {"long_name": "local standard time, end of the hour"})},
        attrs=_attrs(place, origin, history),
    )
    return with_rain(dataset, snow_below=snow_below)


def check_bounds(name: str, values: Array, time: Times, *, place: str) -> None:
    """Refuse values outside the bounds of the variable table; NaN passes."""
    row = TABLE[name]
    bad = np.flatnonzero((values < row.lower) | (values > row.upper))
    if len(bad):
        first = int(bad[0])
        raise fault(
            f"{place}, {name} at {time[first].astype('datetime64[m]')}",
            f"{name} = {values[first]:.6g}: must be {row.lower:g}–{row.upper:g} {row.units}",
            MISSING if _is_code(float(values[first])) else row.likely_cause,
        )


MISSING = "a code for a missing value? make it NaN and fill it on purpose with weather.fill"


def _is_code(value: float) -> bool:
    """Whether a value is one of the nines that files write where a value is missing."""
    digits = f"{abs(value):g}".replace(".", "")
    return len(digits) >= 3 and set(digits) == {"9"}


def require_sound(dataset: xr.Dataset, names: Iterable[str], *, purpose: str) -> None:
    """Refuse a climate that was changed into one out of bounds, or that lacks what is needed.

    Parameters
    ----------
    dataset : Dataset
        Canonical weather.
    names : iterable of str
        Variables that must be there without a gap.
    purpose : str
        What they are needed for.

    Raises
    ------
    WeatherError
        With the variable, the first hour, the value, its bound and the likely cause.
    """
    time, place = dataset["time"].values, _source(dataset)
    for name in TABLE:
        if name in dataset and dataset[name].dims == ("time",):
            check_bounds(name, dataset[name].values, time, place=place)
    for name in names:
        needed(dataset, name, purpose=purpose)


def with_rain(dataset: xr.Dataset, *, snow_below: float = SNOW_BELOW) -> xr.Dataset:
    """Derive `rain` from `precipitation`: none in hours whose stamp is colder than `snow_below`.

    Weather without precipitation is returned as it is.

    Parameters
    ----------
    dataset : Dataset
        Canonical weather.
    snow_below : float
        1 °C unless said: common practice, no source. [K]
    """
    if "precipitation" not in dataset:
        return dataset
    amount, temperature = dataset["precipitation"].values, dataset["temperature"].values
    values = np.where(temperature < snow_below, 0.0 * amount, amount)
    values = np.where(np.isnan(temperature) & (amount > 0.0), np.nan, values)
    result = dataset.assign(rain=("time", values, {**attributes("rain"), "snow_below": snow_below}))
    return result.assign_attrs(dataset.attrs)


def note(dataset: xr.Dataset, line: str) -> xr.Dataset:
    """Return the dataset with one more line in its history."""
    return dataset.assign_attrs(history=json.dumps([*history(dataset), line], ensure_ascii=False))


def history(dataset: xr.Dataset, *, name: str = "weather dataset") -> list[str]:
    """Everything that was assumed, changed or filled on the way to this dataset.

    Parameters
    ----------
    dataset : Dataset
        Canonical weather.
    name : str
        What a message calls the dataset.

    Raises
    ------
    WeatherError
        The attribute that holds it is damaged.
    """
    try:
        lines = json.loads(dataset.attrs.get("history", "[]"))
        if not isinstance(lines, list):
            raise TypeError
    except (TypeError, ValueError, RecursionError) as error:
        raise fault(name, "attribute 'history' is no JSON list") from error
    return [str(line) for line in lines]


def place_of(dataset: xr.Dataset, *, name: str = "weather dataset") -> Place:
    """Read the site back from the attributes."""
    try:
        return Place(
            float(dataset.attrs["latitude"]),
            float(dataset.attrs["longitude"]),
            float(dataset.attrs["altitude"]),
            float(dataset.attrs["utc_offset_hours"]),
            str(dataset.attrs.get("place", "")),
        )
    except KeyError as missing:
        raise fault(name, f"attribute {missing} is missing") from missing
    except (TypeError, ValueError) as error:
        text = f"latitude, longitude, altitude or utc_offset_hours is no number ({error})"
        raise fault(name, text, "changed after it was saved?") from error


def needed(dataset: xr.Dataset, name: str, *, purpose: str) -> Array:
    """Values of a variable that must be there without a gap.

    Raises
    ------
    WeatherError
        When the variable is missing or has NaN in it; names the first gap.
    """
    if name not in dataset:
        raise fault(name, f"not in the weather, needed for {purpose}", f"source {_source(dataset)}")
    values = dataset[name].values
    gaps = np.flatnonzero(np.isnan(values))
    if len(gaps):
        stamp = dataset["time"].values[gaps[0]].astype("datetime64[m]")
        raise fault(
            name,
            f"{len(gaps)} of {len(values)} hours missing, first at {stamp}, needed for {purpose}",
            "fill it on purpose with weather.fill, or use another source",
        )
    return np.asarray(values, dtype=float)


def hour_mean(values: Array, *, cyclic: bool) -> Array:
    """Mean over each hour of a quantity given at its ends, taken as linear between stamps.

    The first hour starts before the first stamp: a typical year takes its last stamp there
    (the year wraps), others the first stamp.
    """
    before = np.roll(values, 1)
    if not cyclic:
        before[0] = values[0]
    return 0.5 * (before + values)


def is_cyclic(dataset: xr.Dataset) -> bool:
    """Whether the hour before the first stamp is the last one: typical and generated years."""
    return dataset.attrs.get("kind") in ("typical year", "generated")


def _source(dataset: xr.Dataset) -> str:
    return str(dataset.attrs.get("source", "unknown"))


def _attrs(place: Place, origin: Origin, history: list[str]) -> dict[str, float | str]:
    return {
        "latitude": place.latitude,
        "longitude": place.longitude,
        "altitude": place.altitude,
        "utc_offset_hours": place.utc_offset_hours,
        "place": place.name,
        "source": origin.source,
        "source_sha256": origin.sha256,
        "generated": origin.generated,
        "kind": origin.kind,
        "caution": CAUTIONS.get(origin.kind, ""),
        "history": json.dumps(history, ensure_ascii=False),
    }


def check_place(place: Place, source: str) -> None:
    """Refuse a site off the globe, or a zone that does not fit the longitude."""
    for name, bound in PLACE_BOUNDS.items():
        value = getattr(place, name)
        if not isinstance(value, int | float):
            raise fault(source, f"{name} = {value!r}: must be a number", bound.cause)
        if not bound.lower <= value <= bound.upper:
            text = f"{name} = {value}: must be {bound.lower:g} to {bound.upper:g} {bound.units}"
            raise fault(source, text, bound.cause)
    # A sun that is hours off noon is a wrong zone or a wrong sign of the longitude.
    apart = abs(place.longitude / 15.0 - place.utc_offset_hours) % 24.0
    if min(apart, 24.0 - apart) > 4.0:
        raise fault(
            source,
            f"longitude {place.longitude}° does not fit the zone {place.utc_offset_hours:+g} h",
            "east is positive for both",
        )


def _present(
    columns: Mapping[str, ArrayLike], length: int, source: str, history: list[str]
) -> dict[str, Array]:
    data: dict[str, Array] = {}
    for name, values in columns.items():
        if name not in TABLE:
            raise WeatherError(f"'{name}' is no canonical variable; known: {', '.join(TABLE)}")
        array = np.array(values, dtype=float)
        if array.shape != (length,):
            raise fault(f"{source}, {name}", f"{array.shape} values for {length} stamps")
        if np.isnan(array).all():
            history.append(f"{name}: missing in the source, left out")
        else:
            data[name] = array
    if "temperature" not in data:
        raise fault(source, "no temperature", "every weather source must give it")
    return data


def _settle_humidity(data: dict[str, Array], source: str, history: list[str]) -> None:
    """Complete humidity from what is given; check the percent trap before it is used."""
    temperature = data["temperature"]
    if "relative_humidity" not in data:
        if "vapour_pressure" in data:
            pressure = data["vapour_pressure"]
        elif "dew_point" in data:
            pressure = moistair.saturation_pressure(data["dew_point"])
        else:
            raise fault(source, "no relative_humidity and no dew_point", "one of them is needed")
        humidity = pressure / moistair.saturation_pressure(temperature)
        # Dew point and temperature are rounded to 0.1 K on their own: up to 1 % above saturation.
        over = (humidity > 1.0) & (humidity <= 1.01)
        data["relative_humidity"] = np.where(over, 1.0, humidity)
        history.append(
            "relative_humidity: from vapour pressure or dew point"
            + (f", {int(over.sum())} hours up to 1 % above 1 set to 1" if over.any() else "")
        )
    humidity = data["relative_humidity"]
    data["vapour_pressure"] = moistair.vapour_pressure(temperature, humidity)
    if "dew_point" not in data and np.all(humidity[~np.isnan(humidity)] > 0.0):
        data["dew_point"] = moistair.dew_point(data["vapour_pressure"])
        history.append("dew_point: from temperature and relative humidity")


def _settle_calm(data: dict[str, Array], history: list[str]) -> None:
    """Give calm hours without direction a direction, so that NaN always means a gap."""
    if "wind_speed" not in data or "wind_direction" not in data:
        return
    calm = (data["wind_speed"] == 0.0) & np.isnan(data["wind_direction"])
    if calm.any():
        data["wind_direction"] = np.where(calm, 0.0, data["wind_direction"])
        history.append(f"wind_direction: set to 0 in {int(calm.sum())} calm hours without one")
