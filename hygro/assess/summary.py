"""The short list of numbers that comparison tables and maps show for a run.

Owns the choice of numbers and their units; each comes from a rating module.
"""

from __future__ import annotations

from types import MappingProxyType

import numpy as np

from hygro.assess.balance import trend
from hygro.assess.condensation import face_condensation, hourly_mass, run_off
from hygro.assess.criteria import Rated
from hygro.assess.formed import formed_per_year, forming_hours, forms_at
from hygro.assess.hourly import Record, hourly
from hygro.assess.humidity import surface_humidity
from hygro.assess.moisture import content
from hygro.assess.mould import Model, check_mould
from hygro.assess.places import Face, find_sheathing, layer_index, layer_span, surface
from hygro.assess.questions import windows
from hygro.assess.select import HOURS_PER_YEAR, SECONDS_PER_HOUR, array, holds, times
from hygro.assess.series import DAY, MONTH, exceedance, peak, running_mean

SUMMARY: MappingProxyType[str, tuple[str, str]] = MappingProxyType(
    {
        "sheathing": ("", "layer judged as sheathing"),
        "mc_30d_max": ("1", "highest 30-day mean moisture content of the sheathing, by mass"),
        "mc_30d_skin_max": ("1", "highest 30-day mean of the sheathing's wettest 3 mm at a face"),
        "mc_24h_max": ("1", "highest 24-h mean moisture content of the sheathing, by mass"),
        "hours_mc_above_20": ("h", "hours with the sheathing above 20 % by mass"),
        "hours_mc_above_28": ("h", "hours with the sheathing above 28 % by mass"),
        "mould_index_max": ("1", "highest mould index where it decides"),
        "mould_surface": ("", "surface with the highest mould index"),
        "mould_by_surface": ("1", "highest mould index of each surface"),
        "condensate_formed": (
            "kg m-2",
            "condensate formed a year at the sheathing's inner face",
        ),
        "condensation_hours": ("h", "hours in which condensate formed at the inner face"),
        "dew_point_hours": ("h", "hours with the inner face at or below the indoor dew point"),
        "rh_30d_max": ("1", "highest 30-day mean relative humidity at a face of the sheathing"),
        "rh_surface": ("", "that face"),
        "water_change_per_year": ("kg m-2", "change of the water in the wall per year"),
        "rain_incident": ("kg m-2", "rain that met the wall in the run"),
        "leak_rain": ("kg m-2", "rain leaked into the wall in the run"),
        "leak_air": ("m3 m-2", "air that leaked in the run, either way, where the run tells"),
        "drained": ("kg m-2", "leaked water that drained in the run"),
        "leak_vapour": ("kg m-2", "moisture dropped by leaking air in the run, net"),
        "u_value": ("W m-2 K-1", "thermal transmittance, where the run gives it"),
    }
)
"""Keys of `summary` with unit and meaning."""

SKIN = 0.003
"""Depth of the outer and inner skin told beside the whole board. [m]"""


def summary(
    ds: Record,
    *,
    sheathing: str | None = None,
    skip_days: float | None = None,
    mould_model: Model = "ojanen2010",
    decline: float | str | None = None,
) -> dict[str, object]:
    """Return the numbers of `SUMMARY` for a run; None where the run cannot give one.

    Parameters are those of `verdict`.

    Raises
    ------
    InputError
        For an unknown layer or model, or `skip_days` that are no number or leave no hour.
    """
    check_mould(mould_model, decline)
    ds = hourly(ds)
    layer = find_sheathing(ds, sheathing)
    part = windows(ds, skip_days)
    rated = part.closing if part.service is None else part.service
    assert rated is not None  # one of the two is always asked
    numbers: dict[str, object] = {"sheathing": layer.name}
    numbers |= _content(rated, layer.name)
    numbers |= _mould(Rated(rated, ds, layer, way=part.way), mould_model, decline)
    numbers |= _humidity(rated, layer.name)
    numbers["water_change_per_year"] = _change(rated)
    flows = run_off(rated)
    numbers["rain_incident"], numbers["leak_rain"] = flows.rain_incident, flows.leak_rain
    numbers["leak_air"] = leaked_air(rated)
    numbers["drained"], numbers["leak_vapour"] = flows.drained, flows.leak_vapour
    u_value = ds.attrs.get("u_value")
    numbers["u_value"] = None if u_value is None else float(u_value)
    return numbers


def leaked_air(ds: Record) -> float | None:
    """Air that leaked through the wall and its leaks, either way; None where the run tells nothing.

    In m³ per m² of wall.
    """
    wall = hourly(ds).wall
    if wall is None or not holds(ds, "air_flow"):
        return None
    total = float(np.abs(hourly_mass(ds, "air_flow")).sum())
    if wall.leaks.air:
        first = len(wall.leaks.rain) + len(wall.leaks.wetting)
        rates = array(ds, "source_rate")[1:, first:]
        total += float(np.abs(rates).sum()) * SECONDS_PER_HOUR
    return total


def _number(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None


def _content(ds: Record, layer: str) -> dict[str, object]:
    water, stamps = content(ds, layer), times(ds)
    return {
        "mc_30d_max": _number(peak(running_mean(water, MONTH), stamps).value),
        "mc_30d_skin_max": _number(max(_skin(ds, layer, face) for face in ("outer", "inner"))),
        "mc_24h_max": _number(peak(running_mean(water, DAY), stamps).value),
        "hours_mc_above_20": exceedance(water, stamps, 0.20).hours,
        "hours_mc_above_28": exceedance(water, stamps, 0.28).hours,
    }


def _skin(ds: Record, layer: str, face: Face) -> float:
    start, end = layer_span(ds, layer_index(ds, layer))
    water = content(ds, layer, (face, min(SKIN, end - start)))
    return peak(running_mean(water, MONTH), times(ds)).value


def _mould(rated: Rated, model: Model, decline: float | str | None) -> dict[str, object]:
    highest, worst = rated.most_mould(model, decline)
    return {
        "mould_index_max": None if worst is None else highest[worst],
        "mould_surface": None if worst is None else worst.name,
        "mould_by_surface": {place.name: value for place, value in highest.items()},
    }


def _humidity(ds: Record, layer: str) -> dict[str, object]:
    hours = face_condensation(ds, layer, "inner")
    condensed = forms_at(ds, surface(ds, layer, "inner").interface)
    faces = [surface_humidity(ds, layer, face) for face in ("outer", "inner")]
    rated = max(faces, key=lambda face: np.nan_to_num(face.month_any.value))
    return {
        "condensate_formed": formed_per_year(condensed),
        "condensation_hours": forming_hours(condensed, times(ds)).hours,
        "dew_point_hours": hours.below_indoor_dew_point.hours,
        "rh_30d_max": _number(rated.month_any.value),
        "rh_surface": rated.surface,
    }


def _change(ds: Record) -> float | None:
    """Trend over the years, or the change in the only year. [kg/m² per year]"""
    if len(times(ds)) <= HOURS_PER_YEAR:
        return None
    return trend(ds)
