"""Sun position and shortwave irradiance on a plane of any azimuth and tilt; knows no longwave.

Transposition by pvlib; azimuth is clockwise from north of the outward normal, tilt from the
horizontal (90 is a wall).
"""

from __future__ import annotations

import warnings
from functools import lru_cache
from typing import TYPE_CHECKING, Literal, NamedTuple

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from weather.arrays import Array, Flags, Times
from weather.canonical import Place, needed, note, place_of
from weather.constants import HOUR_SECONDS
from weather.errors import fault
from weather.kept import Series, kept
from weather.series import calendar_time
from weather.stamps import HOUR
from weather.variables import attributes

if TYPE_CHECKING:
    import pandas as pd

SkyModel = Literal["perez", "haydavies", "isotropic"]


SNOW_COVER, SNOW_ALBEDO = 0.03, 0.6
"""Depth from which snow hides the ground [m], and its albedo between fresh and old [1]; common
practice, no source."""


class Sun(NamedTuple):
    """The sun of each hour, at the middle of the hour's sunlit part."""

    zenith: Array
    """True (not refracted) zenith angle; above 90 where the sun is down all hour. [degree]"""
    azimuth: Array
    """Clockwise from north. [degree]"""
    extraterrestrial: Array
    """Normal irradiance outside the atmosphere. [W/m²]"""
    moment: Times
    """The instant used, local standard time."""


class Shortwave(NamedTuple):
    """Hour means of irradiance on a plane, before absorptance. [W/m²]"""

    beam: Array
    sky: Array
    ground: Array

    @property
    def total(self) -> Array:
        """Beam, sky and ground together. [W/m²]"""
        return self.beam + self.sky + self.ground


def sun_of(time: Times, place: Place) -> Sun:
    """Position of the sun in the hours that end at the stamps.

    Taken at the middle of the hour, and where the sun rises or sets within it, at the middle of
    the sunlit part: at the middle of the hour it may still be below the horizon while the mean of
    the hour already holds sunshine.

    Parameters
    ----------
    time : array of datetime64
        Hour-ending stamps, local standard time.
    place : Place
        Latitude, longitude, altitude, zone.
    """
    # Repeated years hold each stamp many times: the sun is computed once for each.
    ends, rows = np.unique(time.astype("datetime64[s]"), return_inverse=True)
    sun = _sun_once(ends.tobytes(), place)
    return Sun(sun.zenith[rows], sun.azimuth[rows], sun.extraterrestrial[rows], sun.moment[rows])


@lru_cache(maxsize=4)
def _sun_once(stamps: bytes, place: Place) -> Sun:
    """Sun of distinct stamps; several walls in one climate ask for the same."""
    from pvlib.irradiance import get_extra_radiation

    ends: Times = np.frombuffer(stamps, dtype="datetime64[s]")
    # Most hours begin where another ends: such an instant is computed once.
    instants, rows = np.unique(np.concatenate([ends - HOUR, ends]), return_inverse=True)
    begin_height, end_height = np.split((90.0 - _position(instants, place)[0])[rows], 2)
    moment: Times = ends + (_sunlit_middle(begin_height, end_height) - HOUR)
    zenith, azimuth = _position(moment, place)
    extra: Array = np.asarray(get_extra_radiation(_utc(moment, place)), dtype=np.float64)
    return Sun(zenith, azimuth, extra, moment)


def sun_position(dataset: xr.Dataset) -> Sun:
    """Position of the sun in the hours of a canonical dataset.

    An attribute `sun_offset_hours`, written by `align_sun`, moves the instants.
    """
    return sun_of(_sun_time(dataset), place_of(dataset))


def _sun_time(dataset: xr.Dataset) -> Times:
    hours = float(dataset.attrs.get("sun_offset_hours", 0.0))
    return calendar_time(dataset) + np.timedelta64(round(hours * HOUR_SECONDS), "s")


def sun_offset(dataset: xr.Dataset) -> float:
    """How many hours the radiation of the weather lags the sun of its stamps; 0 as it should. [h]

    Found by closure: beam by the sun's position plus diffuse must be the global radiation. Some
    files take reanalysis radiation over without moving it from one time cell to the other. Every
    fifth day is looked at, in steps of a quarter of an hour from −1 to +1 h.
    """
    purpose = "comparing sun and radiation"
    rows = np.arange(dataset.sizes["time"]) // 24 % 5 == 0
    total, direct, diffuse = (
        needed(dataset, name, purpose=purpose)[rows]
        for name in ("global_horizontal", "direct_normal", "diffuse_horizontal")
    )
    time, place = calendar_time(dataset)[rows], place_of(dataset)
    best, least = 0.0, np.inf
    for quarters in (0, -1, 1, -2, 2, -3, 3, -4, 4):
        sun = sun_of(time - np.timedelta64(quarters * 15, "m"), place)
        beam = direct * np.maximum(np.cos(np.radians(sun.zenith)), 0.0)
        error = float(np.abs(beam + diffuse - total).sum())
        if error < least:
            best, least = 0.25 * quarters, error
    return best


def align_sun(dataset: xr.Dataset) -> xr.Dataset:
    """Let the sun follow the radiation where `sun_offset` finds a lag; written into the history.

    The radiation keeps its stamps; only the sun's position of each hour is moved.

    Parameters
    ----------
    dataset : Dataset
        Canonical weather.
    """
    lag = sun_offset(dataset)
    if lag == 0.0:
        return dataset
    result = dataset.assign_attrs(sun_offset_hours=-lag)
    return note(result, f"sun moved by {-lag:+g} h to fit the radiation of the source")


def shortwave_on_plane(
    dataset: xr.Dataset,
    *,
    azimuth: float,
    tilt: float,
    albedo: float = 0.2,
    snow_albedo: float | None = SNOW_ALBEDO,
    sky: SkyModel = "perez",
) -> Shortwave:
    """Beam, sky-diffuse and ground-reflected irradiance on a plane. [W/m²]

    Parameters
    ----------
    dataset : Dataset
        With global_horizontal, direct_normal, diffuse_horizontal.
    azimuth : float
        Of the outward normal, clockwise from north. [degree]
    tilt : float
        0 looks up, 90 is a wall, 180 looks down. [degree]
    albedo : float
        Shortwave reflectance of the ground; 0.2 is common practice, no source. [1]
    snow_albedo : float or None
        The same under snow of 3 cm and more, where the weather has `snow_depth`. [1]
    sky : {"perez", "haydavies", "isotropic"}
        Perez et al. 1990, Hay & Davies 1980, or a uniform sky.

    Raises
    ------
    WeatherError
        On gaps in the radiation, or angles or albedo out of bounds.
    """
    check_plane(azimuth, tilt)
    for name, value in (("albedo", albedo), ("snow_albedo", snow_albedo)):
        if value is not None and not 0.0 <= value <= 1.0:
            raise fault(name, f"{value:g}: must be 0–1", "is it in percent?")
    if sky not in ("perez", "haydavies", "isotropic"):
        raise fault("sky", f"'{sky}' is not known", "choose perez, haydavies or isotropic")
    purpose = "irradiance on a plane"
    total = needed(dataset, "global_horizontal", purpose=purpose)
    direct = needed(dataset, "direct_normal", purpose=purpose)
    diffuse = needed(dataset, "diffuse_horizontal", purpose=purpose)
    snow = albedo if snow_albedo is None else snow_albedo
    bright = np.where(snowy(dataset), snow, albedo)
    ground = total * bright * 0.5 * (1.0 - np.cos(np.radians(tilt)))
    where = _sun_time(dataset), place_of(dataset), azimuth, tilt, sky
    return Shortwave(**kept(_beam_and_sky, direct, diffuse, *where), ground=ground)


def _beam_and_sky(
    direct: Array, diffuse: Array, time: Times, place: Place, azimuth: float, tilt: float, sky: str
) -> Series:
    sun = sun_of(time, place)
    return {
        "beam": direct * _projection(sun, azimuth, tilt),
        "sky": _sky_diffuse(diffuse, direct, sun, azimuth, tilt, sky),
    }


def snowy(dataset: xr.Dataset) -> Flags:
    """Hours in which snow of `SNOW_COVER` lies; none where its depth is missing."""
    if "snow_depth" not in dataset:
        return np.zeros(dataset.sizes["time"], dtype=bool)
    return np.asarray(dataset["snow_depth"].values >= SNOW_COVER)


def split_global(dataset: xr.Dataset) -> xr.Dataset:
    """Add direct_normal and diffuse_horizontal to weather that has only global_horizontal.

    Correlation of Erbs, Klein & Duffie 1982, by pvlib; written into the history.

    Parameters
    ----------
    dataset : Dataset
        Canonical weather.

    Raises
    ------
    WeatherError
        The global radiation is missing or has gaps.
    """
    total = needed(dataset, "global_horizontal", purpose="splitting the global radiation")
    direct, diffuse = erbs_split(total, sun_position(dataset))
    result = dataset.assign(
        direct_normal=("time", direct, attributes("direct_normal")),
        diffuse_horizontal=("time", diffuse, attributes("diffuse_horizontal")),
    ).assign_attrs(dataset.attrs)
    return note(result, "direct_normal, diffuse_horizontal: from global by Erbs et al. 1982")


def erbs_split(total: Array, sun: Sun) -> tuple[Array, Array]:
    """Direct normal and diffuse horizontal irradiance from global; closes on the global. [W/m²]"""
    from pvlib.irradiance import erbs

    day = sun.moment.astype("datetime64[D]")
    of_year = (day - day.astype("datetime64[Y]")).astype(int) + 1
    direct = np.asarray(erbs(total, sun.zenith, of_year)["dni"], dtype=float)
    cosine = np.maximum(np.cos(np.radians(sun.zenith)), 0.0)
    return direct, np.maximum(total - direct * cosine, 0.0)


def check_plane(azimuth: float, tilt: float) -> None:
    """Refuse angles outside 0–360 (azimuth) and 0–180 (tilt) degrees."""
    if not 0.0 <= azimuth <= 360.0:
        raise fault("azimuth", f"{azimuth:g}: must be 0–360 degrees clockwise from north")
    if not 0.0 <= tilt <= 180.0:
        raise fault("tilt", f"{tilt:g}: must be 0–180 degrees from the horizontal")


def _projection(sun: Sun, azimuth: float, tilt: float) -> Array:
    """Cosine of the angle between sun and normal, 0 behind the plane or below the horizon."""
    from pvlib.irradiance import aoi_projection

    cosine = np.asarray(aoi_projection(tilt, azimuth, sun.zenith, sun.azimuth), dtype=float)
    return np.where(sun.zenith < 90.0, np.maximum(cosine, 0.0), 0.0)


def _sky_diffuse(
    diffuse: Array, direct: Array, sun: Sun, azimuth: float, tilt: float, model: str
) -> Array:
    from pvlib.irradiance import get_sky_diffuse

    uniform: Array = diffuse * 0.5 * (1.0 + np.cos(np.radians(tilt)))
    if model == "isotropic":
        return uniform
    with warnings.catch_warnings():
        # Air mass and clearness are undefined at night; those hours are replaced below.
        warnings.simplefilter("ignore", RuntimeWarning)
        values = np.asarray(
            get_sky_diffuse(
                tilt,
                azimuth,
                sun.zenith,
                sun.azimuth,
                direct,
                diffuse + direct * np.cos(np.radians(sun.zenith)),
                diffuse,
                dni_extra=sun.extraterrestrial,
                model=model,
            ),
            dtype=float,
        )
    # Twilight has light but no sun, and no model of circumsolar light holds: uniform sky.
    return np.where((sun.zenith < 90.0) & np.isfinite(values), values, uniform)


def _sunlit_middle(begin: Array, end: Array) -> NDArray[np.timedelta64]:
    """Time from the hour's begin to the middle of its sunlit part, heights linear in between."""
    change = np.where(end == begin, 1.0, end - begin)
    crossing = np.clip(-begin / change, 0.0, 1.0)
    rises, sets = (begin <= 0.0) & (end > 0.0), (begin > 0.0) & (end <= 0.0)
    middle = np.where(rises, 0.5 * (1.0 + crossing), np.where(sets, 0.5 * crossing, 0.5))
    return np.round(middle * HOUR_SECONDS).astype("timedelta64[s]")


def _position(moment: Times, place: Place) -> tuple[Array, Array]:
    from pvlib.solarposition import get_solarposition

    table = get_solarposition(
        _utc(moment, place), place.latitude, place.longitude, altitude=place.altitude
    )
    return np.asarray(table["zenith"], dtype=float), np.asarray(table["azimuth"], dtype=float)


def _utc(moment: Times, place: Place) -> pd.DatetimeIndex:
    import pandas as pd

    offset = np.timedelta64(round(place.utc_offset_hours * HOUR_SECONDS), "s")
    return pd.DatetimeIndex((moment - offset).astype("datetime64[ns]"), tz="UTC")
