"""Moist air, sun on planes and driving rain against formulas written a second time."""

from __future__ import annotations

import numpy as np
import xarray as xr

from hygro.proof.check import Array, Check, Origin, Outcome, Provenance, compare
from hygro.proof.references import moist_air as air
from hygro.proof.references import sun as second
from weather import Place
from weather.canonical import Origin as ClimateOrigin
from weather.canonical import build
from weather.moistair import dew_point, enthalpy, humidity_ratio, saturation_pressure
from weather.plane import shortwave_on_plane
from weather.rain import (
    TERRAIN,
    ashrae_factors,
    free_driving_rain_ashrae160,
    free_driving_rain_iso15927,
    roughness_factor,
)

WARM = np.arange(0.5, 60.5, 2.5) + 273.15
COLD = np.arange(-40.0, 0.0, 2.5) + 273.15
OWN: Provenance = "own independent implementation"


def moist_air() -> Outcome:
    """Saturation, humidity ratio, dew point and enthalpy, -40 to 60 °C."""
    water, ice = air.over_water(WARM), air.over_ice(COLD)
    real = 0.5 * air.enhancement(101325.0) * water
    humid = WARM[WARM > 280.0]
    dew = np.array([air.dew_point(p) for p in 0.6 * air.over_water(humid)])
    p = 0.5 * np.concatenate([ice, water])
    ratio = air.humidity_ratio(p, 95000.0)
    heat = air.enthalpy(np.concatenate([COLD, WARM]), ratio)
    equation = Origin("IAPWS-IF97, equation 30 (from memory)", OWN)
    return Outcome((
        _moist(
            "saturation pressure over water, 0-60 °C", saturation_pressure(WARM), water, 0.2,
            "Pa", equation, at=WARM,
            reason="accuracy of the formula of ISO 13788 itself against the equation of state",
        ),
        _moist(
            "humidity ratio at 50 %, 0-60 °C", humidity_ratio(0.5 * saturation_pressure(WARM)),
            air.humidity_ratio(real, 101325.0), 0.8, "kg/kg",
            Origin("IAPWS-IF97, enhanced in air after Buck 1981 (from memory)", OWN), at=WARM,
            reason="real air is enhanced by 0.5 %, which is left out here; 0.2 % as above",
        ),
        _moist(
            "saturation pressure over ice, -40-0 °C", saturation_pressure(COLD, over="ice"), ice,
            2.0, "Pa", Origin("IAPWS R14-08, equation 6 (from memory)", OWN), at=COLD,
            reason="accuracy of the formula of ISO 13788 over ice, poorest at -40 °C",
        ),
        compare(
            "moist_air", "dew point at 60 %, 8-60 °C",
            dew_point(0.6 * saturation_pressure(humid)) - 273.15, dew - 273.15, 0.08, unit="°C",
            origin=equation, at=humid - 273.15, at_unit="°C",
            reason="0.2 % of saturation is 0.04 K of dew point; twice, at air and at dew point",
        ),
        _moist(
            "humidity ratio at 95 kPa, -40-60 °C", humidity_ratio(p, 95000.0), ratio, 0.001,
            "kg/kg", Origin("ideal mixture, written by hand", OWN), at=None,
            reason="same relation; six digits of 0.622",
        ),
        compare(
            "moist_air", "enthalpy, -40-60 °C", enthalpy(np.concatenate([COLD, WARM]), ratio), heat,
            1.0, unit="J/kg", reason="same linear form and constants: round-off",
            origin=Origin("1.006 θ + x (2501 + 1.86 θ), written by hand", OWN),
        ),
    ))  # fmt: skip


def _moist(
    quantity: str, ours: Array, reference: Array, per_cent: float, unit: str, origin: Origin, *,
    at: Array | None, reason: str,
) -> Check:  # fmt: skip
    place = None if at is None else at - 273.15
    return compare("moist_air", quantity, ours, reference, per_cent, unit=unit, origin=origin,
                   relative=True, at=place, at_unit="°C", reason=reason)  # fmt: skip


def sun() -> Outcome:
    """Sun on five planes, three models of the sky, in two summer days from clear to covered."""
    time = np.datetime64("2001-07-15T01", "h") + np.arange(48)
    middle = time - np.timedelta64(30, "m")
    zenith, azimuth = second.position(middle + np.timedelta64(6, "h"), 45.0, -90.0)
    up = np.maximum(np.cos(zenith), 0.0)
    total = 1000.0 * up
    diffuse = total * np.linspace(0.12, 0.95, 48)
    direct = np.where(up > 0.0, (total - diffuse) / np.maximum(up, 1e-9), 0.0)
    day = (middle.astype("datetime64[D]") - np.datetime64("2001-01-01")).astype(float) + 1.0
    sky = second.Sky(zenith, azimuth, second.extraterrestrial(day), direct, total, diffuse)
    # sunrise and sunset hours take another moment on purpose
    high = np.degrees(zenith) < 82.0
    sky, climate = second.Sky(*(column[high] for column in sky)), _climate(time, sky)
    planes = ((0, 90), (90, 90), (180, 90), (250, 60), (180, 30))
    checks = []
    for model in ("perez", "haydavies", "isotropic"):
        ours = [
            shortwave_on_plane(climate, azimuth=around, tilt=tilt, sky=model).total[high]
            for around, tilt in planes
        ]
        theirs = [second.on_plane(sky, around, tilt, model, 0.2) for around, tilt in planes]
        checks.append(
            compare(
                "sun_on_plane", f"irradiance on 5 planes, {model}", ours, theirs, 0.2,
                unit="W/m²",
                origin=Origin("the model's paper and the low-precision almanac (from memory)", OWN),
                reason="0.01° of the sun's place, the almanac's accuracy, in 1000 W/m² of beam",
            )
        )  # fmt: skip
    return Outcome(tuple(checks))


def _climate(time: np.ndarray, sky: second.Sky) -> xr.Dataset:
    columns = {
        "temperature": np.full(len(time), 290.0),
        "relative_humidity": np.full(len(time), 0.5),
        "global_horizontal": sky.total,
        "direct_normal": sky.direct,
        "diffuse_horizontal": sky.diffuse,
    }
    place = Place(45.0, -90.0, 250.0, -6.0, "invented")
    return build(columns, time, place, ClimateOrigin("made sky", "", "measured"))


def rain() -> Outcome:
    """Driving rain against hand values and printed tables."""
    case = "driving_rain"
    iso = Origin(
        "ISO 15927-3, hourly method (from memory), worked by hand", "own independent implementation"
    )
    digest = Origin(
        "trade digest on driving rain, 2010, worked example; its title was not kept",
        "value remembered, not checked",
    )
    ashrae = Origin(
        "ANSI/ASHRAE 160 (from memory), worked by hand", "own independent implementation"
    )
    lowest = {"I": 2, "II": 4, "III": 8, "IV": 16}
    printed = [0.9007, 1.1743, 1.2922, 1.3611, 0.8326, 1.0067, 1.1384, 1.2154, 0.7224, 0.7714,
               0.9239, 1.0131, 0.6654, 0.6654, 0.7190, 0.8163]  # fmt: skip
    ours = [roughness_factor(t, z) for t in TERRAIN for z in (lowest[t], 10, 20, 30)]  # type: ignore[arg-type]
    low = ashrae_factors(exposure="sheltered", height=2.7, deposition="low-slope roof")
    top = ashrae_factors(exposure="severe", height=50.0, deposition="run-off")
    return Outcome(
        (
            compare(
                case, "one hour, 5 m/s, 2 mm/h, head-on",
                float(free_driving_rain_iso15927(5.0, 200.0, 2.0, azimuth=200.0)), 2.0575, 5e-5,
                unit="l/m²", origin=iso, reason="half of the last digit",
            ),
            compare(
                case, "roughness of four terrains", ours, printed, 5.1e-5, unit="1", origin=iso,
                reason="half of the last digit",
            ),
            compare(
                case, "0.2·5 m/s·2 mm/h·cos 60°",
                float(free_driving_rain_ashrae160(5.0, 60.0, 2.0, azimuth=0.0)), 1.0, 1e-9,
                unit="l/m²", origin=ashrae, reason="arithmetic",
            ),
            compare(
                case, "low sheltered wall and top of a tower",
                [170.0 * low.product * 0.5, 380.0 * top.product], [30.0, 575.0], 6.35,
                unit="mm/yr", origin=digest, reason="the digest rounds in inches (12.7 mm/2)",
            ),
        )
    )  # fmt: skip
