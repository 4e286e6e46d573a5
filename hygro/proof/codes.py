"""Code tables beside the engine: least outboard insulation behind class III, zone by zone.

Owns the wall and room of this comparison. The tables are no physics and the engine is no code: the
numbers stand side by side, and only their order by cold is judged.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import xarray as xr

from hygro.constants import ZERO_CELSIUS
from hygro.proof.check import Check, Line, Origin, Outcome, Picture, compare, not_run, seen, shown
from hygro.proof.years import STATIONS, framed, winter_year
from hygro.room.models import Constant
from hygro.study.limit import Limit, judged, limit
from hygro.study.vary import indoor_rh, outboard_resistance
from hygro.wall.codes import least_outer_resistance, retarder_class

CASE = "code_tables"
ROOM = Constant(294.15, 0.40)
"""21 °C and 40 %, at which the engine's own least R is found: common practice, no source."""
LOW, HIGH, WITHIN = 0.05, 6.0, 0.15
"""Range of the outboard resistance and the bracket in which it is found. [m²·K/W]"""
ENGINE = (
    "own runs: 2x6, XPS outboard, OSB, glass wool, gypsum, latex paint; north, no rain, no leak"
)
ORDER = Origin(
    "steady dew point at the sheathing: R outboard ≥ R inboard (T_dew − T_out)/(T_in − T_dew), "
    f"more where it is colder; {ENGINE}",
    None,
)


class Zone(NamedTuple):
    """One zone: what the code asks, what the engine needs, where they meet."""

    label: str
    coldest: float
    code: float
    mark: str
    engine: Limit
    humidity: Limit


def zones() -> Outcome:
    """Least outboard R of the 2021 IRC and of the engine in real typical years."""
    checks = [_classes()]
    found: dict[str, Zone] = {}
    for name, station in STATIONS.items():
        year = winter_year(name)
        what = f"zone {station.zone}, {station.place}"
        if year is None:
            why = f"the typical year of {station.place} comes with the package {station.package}"
            checks.append(not_run(CASE, what, f"{why}, not installed", ORDER))
            continue
        found[name] = _zone(name, year)
        checks += _rows(found[name])
    checks += _order(found)
    return Outcome(tuple(checks), _picture(found))


def _classes() -> Check:
    """Class limits of the code at and just above each of them."""
    perm = 57.2e-12
    answers = [retarder_class(x * perm) for x in (0.1, 0.11, 1.0, 1.1, 10.0, 10.1)]
    ranks = {"I": 1.0, "II": 2.0, "III": 3.0, "open": 4.0}
    return compare(
        CASE, "vapour retarder classes at 0.1, 1 and 10 perm", [ranks[a] for a in answers],
        [1, 2, 2, 3, 3, 4], 0.0, unit="class",
        origin=seen(
            "2021 IRC Table R702.7(1)", "the extract of the US DOE Building America Solution Center"
        ),
        reason="a table",
    )  # fmt: skip


def _zone(name: str, year: xr.Dataset) -> Zone:
    station = STATIONS[name]
    value = least_outer_resistance(name, "2x6")
    wall = framed(station.place, outboard=("xps", 0.05))
    vary = outboard_resistance(wall, ROOM, "outboard")
    needed = limit(judged(vary, year), LOW, HIGH, within=WITHIN)
    coded, _ = vary(value.R)
    humidity = limit(judged(indoor_rh(coded, ROOM), year), 0.10, 0.80, within=0.03)
    label = f"zone {station.zone}, {station.place}"
    return Zone(label, _coldest(year), value.R, value.mark, needed, humidity)


def _coldest(year: xr.Dataset) -> float:
    """Mean of the coldest 30 days. [°C]"""
    daily = year["temperature"].values[: 24 * 365].reshape(365, 24).mean(axis=1)
    return float(np.convolve(daily, np.ones(30) / 30.0, "valid").min() - ZERO_CELSIUS)


def _needed(zone: Zone) -> float:
    """Least R found from which on the wall passes; `LOW` where it always does."""
    windows = zone.engine.windows
    return windows[-1].first if windows else HIGH


def _rows(zone: Zone) -> list[Check]:
    # "extract": read in some text, but its name was not kept
    mark = "an extract whose name was not kept" if zone.mark == "extract" else zone.mark
    table = f"2021 IRC Table R702.7(3), class III inside, 2x6 ({mark})"
    code = Origin(table, "value remembered, not checked")
    always = zone.engine.lowest is None and len(zone.engine.windows) == 1
    least = "passes without any" if always else f"bracket {WITHIN:g} m²·K/W"
    passing = zone.humidity.windows
    return [
        shown(
            CASE, f"least outboard R at 40 % indoors, {zone.label}", _needed(zone), zone.code,
            unit="m²·K/W", origin=code, note=f"{least}; coldest 30 days {zone.coldest:.1f} °C",
        ),
        shown(
            CASE, f"indoor humidity at which code and engine agree, {zone.label}",
            100.0 * passing[0].last if passing else float("nan"), None, unit="% rh", origin=code,
            note="constant, 21 °C; highest at which the code's R passes here",
        ),
    ]  # fmt: skip


def _order(found: dict[str, Zone]) -> list[Check]:
    if len(found) < 2:
        return [not_run(CASE, "order by cold", "fewer than two typical years", ORDER)]
    by_cold = sorted(found.values(), key=lambda z: -z.coldest)
    values = np.array([_needed(z) for z in by_cold])
    drop = float(max(0.0, -np.diff(values).min()))
    told = [f"{z.coldest:.0f} °C {v:.2f}" for z, v in zip(by_cold, values, strict=True)]
    checks = [
        compare(
            CASE, "least R rises with winter cold: largest fall between neighbours", drop, 0.0,
            WITHIN, unit="m²·K/W", origin=ORDER, reason="the bracket of the search",
            note=", ".join(told),
        )
    ]  # fmt: skip
    inland = [found[k] for k in ("4", "5", "8") if k in found]
    if len(inland) > 1:
        values = np.array([_needed(z) for z in inland])
        checks.append(
            compare(
                CASE, "least R rises from zone 4 to 5 to 8: largest fall",
                float(max(0.0, -np.diff(values).min())), 0.0, WITHIN, unit="m²·K/W", origin=ORDER,
                reason="the bracket of the search",
                note="the station of zone 7 is left out: its summers make the zone, its maritime "
                "winter is milder than that of zone 5",
            )
        )  # fmt: skip
    return checks


def _picture(found: dict[str, Zone]) -> tuple[Picture, ...]:
    if not found:
        return ()
    order = sorted(found.values(), key=lambda z: z.coldest)
    cold = np.array([z.coldest for z in order])
    lines = (
        Line("engine at 40 % indoors", cold, np.array([_needed(z) for z in order]), points=True),
        Line("2021 IRC, class III, 2x6", cold, np.array([z.code for z in order]), True),
    )
    title = "Least outboard insulation over winter cold"
    return (Picture(CASE, title, "mean of the coldest 30 days, °C", "R, m²·K/W", lines),)
