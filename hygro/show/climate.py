"""What is in a weather file, as lines and tables. Owns the choice of numbers; reads no file."""

from __future__ import annotations

import numpy as np
import xarray as xr
from rich.table import Table

import weather
from hygro.show.tables import plain
from hygro.show.words import ORIGINS
from hygro.types import Data
from hygro.units import System, show, unit_of

_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def facts(found: xr.Dataset) -> Data:
    """Return what a weather dataset holds, as plain values in SI units."""
    report = weather.inspect(found)
    whole = found.sizes["time"] >= 8760 and not np.isnan(found["temperature"].values).any()
    summary = weather.summarise(found)._asdict() if whole else None
    stamps = found["time"].values
    place = ("latitude", "longitude", "altitude", "utc_offset_hours")
    return {
        "source": str(found.attrs.get("source", "")),
        "sha256": str(found.attrs.get("source_sha256", "")),
        "kind": str(found.attrs.get("kind", "")),
        "place": {key: float(found.attrs[key]) for key in place},
        "first": str(stamps[0].astype("datetime64[m]")),
        "last": str(stamps[-1].astype("datetime64[m]")),
        "hours": report.hours,
        "variables": {
            str(name): {
                "unit": str(found[name].attrs.get("units", "")),
                "missing_share": report.missing_share[str(name)],
            }
            for name in found.data_vars
        },
        "findings": [finding._asdict() for finding in report.findings],
        "history": weather.history(found),
        "summary": summary,
    }


def variables(found: xr.Dataset, *, system: System = "si") -> Table:
    """Return a line for every variable: range, mean and missing share."""
    rows = []
    for name in found.data_vars:
        values = found[name].values
        unit = str(found[name].attrs.get("units", ""))
        present = values[~np.isnan(values)]
        sums = (np.min, np.mean, np.max)
        shown = [_in_unit(f(present), unit, system) if len(present) else "–" for f in sums]
        missing = f"{100 * float(np.isnan(values).mean()):.1f}"
        rows.append((str(name), _unit_word(unit, system), *shown, missing))
    headings = ("Variable", "Unit", "Lowest", "Mean", "Highest", "Missing %")
    return plain("Variables", headings, rows)


W_PER_BTU = 3.154590745
"""One Btu/(h·ft²). [W/m²]"""


def _altitude(metres: float, system: System) -> str:
    return f"{metres / 0.3048:.0f} ft" if system == "ip" else f"{metres:g} m"


def _unit_word(unit: str, system: System) -> str:
    kinds = {"K": "temperature", "1": "fraction", "m/s": "speed", "kg/m2": "water sum"}
    if unit in kinds:
        return unit_of(kinds[unit], system=system)
    if unit.replace(" ", "") in _FLUX and system == "ip":
        return "Btu/(h·ft²)"
    return unit.replace("m2", "m²").replace("degree", "°")


def _in_unit(value: float, unit: str, system: System) -> str:
    kinds = {"K": "temperature", "1": "fraction", "m/s": "speed"}
    if unit in kinds:
        return show(float(value), kinds[unit], system=system, unit=False)
    if unit == "kg/m2":
        return f"{value / 25.4:.2f}" if system == "ip" else f"{value:.1f}"
    if unit.replace(" ", "") in _FLUX and system == "ip":
        return f"{value / W_PER_BTU:.0f}"
    return f"{value:.0f}"


_FLUX = ("W/m2", "Wm-2")
"""Spellings of the unit of radiation, blanks left out."""

MOST_DOUBTS = 4
"""Findings of one variable that are written out."""


def lines(known: Data, *, system: System = "si") -> list[str]:
    """Return the summary in words: degree days, zone, rain; and what is missing or doubtful."""
    place, height = known["place"], _altitude(known["place"]["altitude"], system)
    out = [
        f"{known['source']}: {known['kind']}, {known['hours']} hours from {known['first']} to "
        f"{known['last']}",
        f"{place['latitude']:g}° N, {place['longitude']:g}° E, {height}, "
        f"UTC {place['utc_offset_hours']:+g} h",
    ]
    out += _summary_lines(known["summary"], system)
    return out + _doubts(known["findings"])


def _doubts(findings: list[Data]) -> list[str]:
    """A few findings per variable; the rest of a long list is counted."""
    out = []
    for variable in dict.fromkeys(f["variable"] for f in findings):
        texts = [f["text"].removeprefix(f"{variable}: ") for f in findings]
        own = [t for t, f in zip(texts, findings, strict=True) if f["variable"] == variable]
        own = [*own[: MOST_DOUBTS - 1], own[-1]] if len(own) > MOST_DOUBTS else own
        count = sum(f["variable"] == variable for f in findings)
        out += [f"doubtful: {variable}: {t}" for t in own]
        if count > len(own):
            out.append(f"doubtful: {variable}: {count - len(own)} more like these; --json has all")
    return out


def _summary_lines(summary: Data | None, system: System) -> list[str]:
    if summary is None:
        return ["shorter than a year or with gaps in temperature: no degree days, no zone"]
    factor, unit = (1.8, "°F·d") if system == "ip" else (1.0, "K·d")
    heating, cooling = summary["heating_degree_days_18_3"], summary["cooling_degree_days"]
    regime = summary["moisture_regime"] or ""
    base = [show(celsius + 273.15, "temperature", system=system) for celsius in (18.3, 18.0, 10.0)]
    out = [
        f"heating degree days {factor * heating:.0f} {unit} (base {base[0]}), "
        f"{factor * summary['heating_degree_days']:.0f} (base {base[1]}); cooling degree days "
        f"{factor * cooling:.0f} {unit} (base {base[2]})",
        f"thermal zone {summary['thermal_zone']}{regime} (ASHRAE 169, {ORIGINS['from memory']})",
    ]
    if summary["rain"] is None:
        return [*out, "rain: implausible; a run that needs rain will stop"]
    water = (
        f"{show(summary[key], 'water sum', system=system)}" for key in ("precipitation", "rain")
    )
    return [*out, "per year: precipitation {}, of it rain {}".format(*water)]


def months(summary: Data, *, system: System = "si") -> Table:
    """Return the monthly mean temperatures."""
    values = [
        show(t, "temperature", system=system, unit=False) for t in summary["monthly_temperature"]
    ]
    unit = unit_of("temperature", system=system)
    return plain("Monthly means", ("", *_MONTHS), [(unit, *values)])


def driving_rain(summary: Data, *, system: System = "si") -> Table:
    """Return the free driving rain by orientation."""
    rain = summary["driving_rain"]
    values = [show(v, "water sum", system=system, unit=False) for v in rain.values()]
    unit = unit_of("water sum", system=system)
    title = "Driving rain in free air per year, by the direction a wall faces (ISO 15927-3)"
    return plain(title, ("", *rain), [(unit, *values)])
