"""Directions that field studies found, asked of the engine. Owns the walls and rooms of each trend.

The measured series are not available: these are inequalities between computed results, no
validation of numbers. Real typical years where a package carries them, else a generated climate,
and each row says which.
"""

from __future__ import annotations

from collections.abc import Callable, Generator
from dataclasses import replace

import numpy as np
import xarray as xr

from hygro.assess import interface_condensation, moisture_content, mould, running_mean
from hygro.errors import HygroError
from hygro.proof.check import Check, Origin, Outcome, above, below, not_run
from hygro.proof.trials import climate as generated
from hygro.proof.years import STATIONS, framed, layer, sheet, winter_year
from hygro.record import simulate_many
from hygro.room.models import Constant, Room, Seasonal
from hygro.wall.elements import Gap, Initial
from hygro.wall.leaks import Leaks, RainLeak
from hygro.wall.surfaces import Outside
from hygro.wall.wall import Wall

CASE = "field_trends"
DECEMBER = 3672
"""Hours from 1 July to 1 December."""
TREND = "the trend of the study as worded; our walls and climate of the same zone, not its own"


def _origin(text: str) -> Origin:
    return Origin(f"direction stated by {text}", None)


Runs = list[tuple[Wall, xr.Dataset, Room]]
Asked = Generator[Runs, list[xr.Dataset], list[Check]]
"""A trend: it says what is to be run, is sent the records and returns its checks."""


def trends() -> Outcome:
    """Every trend, with its study; all their runs side by side."""
    checks: dict[int, list[Check]] = {}
    asked: dict[int, tuple[Asked, Runs]] = {}
    for k, (zone, trend) in enumerate(TRENDS):
        year, place = _year(zone)
        if year is None:
            checks[k] = [not_run(CASE, str(trend.__doc__), place, _origin("typical year"))]
        else:
            going = trend(year, place)
            asked[k] = going, next(going)
    found = iter(_records([run for _, runs in asked.values() for run in runs]))
    for k, (going, runs) in asked.items():
        try:
            going.send([next(found) for _ in runs])
        except StopIteration as end:
            checks[k] = end.value
    return Outcome(tuple(check for k in sorted(checks) for check in checks[k]))


def _year(zone: str | None) -> tuple[xr.Dataset | None, str]:
    """Weather of a zone and what it is called, or why there is none."""
    if zone is None:
        return generated(), "generated climate, an invented cold and rainy place"
    year, station = winter_year(zone), STATIONS[zone]
    if year is None:
        why = f"the typical year of {station.place} comes with {station.package}, not installed"
        return None, why
    return year, f"typical year of {station.place}, zone {station.zone}"


def _records(runs: Runs) -> list[xr.Dataset]:
    """Records of runs, in their order; raises the error of one that has none."""
    found: dict[int, xr.Dataset] = {}
    for k, item in simulate_many(runs):
        if isinstance(item, HygroError):
            raise item
        found[k] = item
    return [found[k] for k in range(len(runs))]


def _wet_hours(ds: xr.Dataset) -> float:
    name = next(str(n) for n in ds["interface_name"].values if str(n).startswith("osb |"))
    return float(interface_condensation(ds, name, side="outer").condensing.hours)


def _peak(ds: xr.Dataset, layer: str = "osb") -> float:
    """Highest 30-day mean moisture content. [% by mass]"""
    return float(100.0 * np.nanmax(running_mean(moisture_content(ds, layer).values, 720)))


def two_thirds(year: xr.Dataset, place: str) -> Asked:
    """Two thirds of R outboard keep the sheathing dry in a zone 8 winter."""
    origin = _origin("Fairbanks test walls, HVAC&R Research 2014, 10.1080/10789669.2014.887028")
    room = Constant(294.15, 0.35)
    # 0.20 m of wool of nearly one conductivity inside and outside: shares of the thickness
    walls = [
        framed(f"{share:.0%} outboard", outboard=("mineral-wool-board", 0.20 * share),
               cavity=0.20 * (1.0 - share))
        for share in (0.45, 0.75)
    ]  # fmt: skip
    less, more = map(_wet_hours, (yield [(wall, year, room) for wall in walls]))
    note = f"21 °C, 35 % indoors; {place}"
    return [
        above(CASE, "hours at dew point at the sheathing, 45 % of R outboard", less, 0.0,
              unit="h", origin=origin, reason=TREND, note=f"wet in winter; {note}"),
        below(CASE, "hours at dew point at the sheathing, 75 % of R outboard", more, 0.5,
              unit="h", origin=origin, reason=TREND, note=f"none; {note}"),
    ]  # fmt: skip


def open_outside(year: xr.Dataset, place: str) -> Asked:
    """Vapour-open outboard insulation keeps the sheathing drier than foam of the same R."""
    origin = _origin("Cold Climate Housing Research Center, Fairbanks test walls")
    room = Constant(294.15, 0.35)
    wool = framed("wool", outboard=("mineral-wool-board", 0.10))
    foam = framed("foam", outboard=("xps", 0.10 * 0.030 / 0.034))
    peaks = map(_peak, (yield [(wall, year, room) for wall in (wool, foam)]))
    return [
        below(CASE, "peak 30-day moisture of OSB, mineral wool against XPS outboard", *peaks,
              unit="% by mass", origin=origin, reason=TREND, note=f"reference: XPS; {place}")
    ]  # fmt: skip


def drying(year: xr.Dataset, place: str) -> Asked:
    """Outboard insulation speeds drying in cold weather."""
    origin = _origin("Madison, zone 6: IBPC 2018; Buildings 2020, 10(12), 236")
    room = Constant(294.15, 0.35)
    wet = Initial(moisture_content=0.24)
    winter = year.isel(time=slice(DECEMBER, DECEMBER + 90 * 24))
    walls = [
        framed("drying", outboard=outboard, inner=("kraft-facing", "latex-paint"), osb=wet)
        for outboard in (("mineral-wool-board", 0.10), None)
    ]
    found = yield [(wall, winter, room) for wall in walls]
    left = [100.0 * float(moisture_content(ds, "osb").values[-1]) for ds in found]
    return [
        below(CASE, "OSB wetted to 24 %, after December to February, 100 mm outboard against none",
              *left, unit="% by mass", origin=origin, reason=TREND,
              note=f"reference: without; kraft and paint inside; {place}")
    ]  # fmt: skip


def retarder(year: xr.Dataset, place: str) -> Asked:
    """The inner retarder decides in zone 4 without outboard insulation."""
    origin = _origin("near Washington DC, zone 4A: Glass et al., Buildings 2015")
    room = Constant(294.15, 0.50)
    walls = [
        framed("retarder", outboard=None, inner=inner)
        for inner in (("latex-paint",), ("kraft-facing", "latex-paint"))
    ]
    found = yield [(wall, year, room) for wall in walls]
    rise = [_peak(ds) - 100.0 * float(moisture_content(ds, "osb").values[0]) for ds in found]
    return [
        above(CASE, "winter gain of OSB with paint only, against twice the gain with kraft",
              rise[0], 2.0 * rise[1], unit="% by mass", origin=origin, reason=TREND,
              note=f"marked with paint only, not with kraft; 21 °C, 50 % indoors; {place}")
    ]  # fmt: skip


def _brick(changes: float) -> Wall:
    elements = (
        layer("cladding", "clay-brick-absorbent", 0.09),
        Gap("gap", 0.04, changes),
        sheet("membrane", "membrane-50-perm"),
        layer("osb", "osb", 0.011),
        layer("cavity", "glass-wool-batt", 0.14),
        layer("gypsum", "gypsum-board", 0.0125),
        sheet("paint", "latex-paint"),
    )
    return Wall("brick", elements, azimuth=180.0, outside=Outside(absorptance=0.7))


def cladding(year: xr.Dataset, place: str) -> Asked:
    """Ventilating the gap removes the effect of a wet reservoir cladding."""
    origin = _origin("Langmans et al., vapour in gaps behind cladding")
    room = Seasonal(294.15, 297.15, 0.35, 0.50)
    excess, peaks = [], []
    for ds in (yield [(_brick(changes), year, room) for changes in (100.0, 1.0)]):
        gap = ds["gap_vapour_pressure"].values[1:, 0].mean()
        excess.append(float(gap - ds["outdoor_vapour_pressure"].values[1:].mean()))
        peaks.append(_peak(ds))
    note = f"100 air changes per hour against 1 (reference); south, rain on brick; {place}"
    return [
        below(CASE, "vapour in the gap behind brick above outdoors, yearly mean", *excess,
              unit="Pa", origin=origin, reason=TREND, note=note),
        below(CASE, "peak 30-day moisture of OSB behind brick", *peaks, unit="% by mass",
              origin=origin, reason=TREND, note=note),
    ]  # fmt: skip


def leak(year: xr.Dataset, place: str) -> Asked:
    """A rain leak of 1 % raises the mould index clearly."""
    origin = _origin("J. Building Physics 10.1177/17442591241238621; Forests 2023, 14, 718")
    room = Seasonal(294.15, 297.15, 0.35, 0.50)
    tight = framed("leak", outboard=("xps", 0.05))
    tight = replace(tight, azimuth=180.0, outside=Outside())
    leaky = replace(tight, leaks=Leaks(rain=(RainLeak("osb", fraction=0.01),)))
    found = yield [(wall, year, room) for wall in (leaky, tight)]
    index = [float(mould(ds).sel(surface="osb, outer face").values.max()) for ds in found]
    return [
        above(CASE, "mould index of the wetted face, rain leak of 1 % against twice that without",
              index[0], 2.0 * index[1], unit="1", origin=origin, reason=TREND,
              note=f"XPS outboard, south; {place}")
    ]  # fmt: skip


TRENDS: tuple[tuple[str | None, Callable[[xr.Dataset, str], Asked]], ...] = (
    ("8", two_thirds),
    ("8", open_outside),
    ("5", drying),
    ("4", retarder),
    (None, cladding),
    (None, leak),
)
"""Climate zone, or none for the generated climate, and the trend."""
