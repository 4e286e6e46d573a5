"""What the pages say of measurements, each from the file of results that a run has written.

Owns words and digits; measures nothing. `NUMBERS` is what a mark in a page may name.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from measured import card, checks, costs, errors, speed, years
from measured.files import versions

NUMBERS: dict[str, Callable[[], str]] = {
    "error.summary": errors.error_summary,
    "error.walls": errors.error_walls,
    "error.shown": errors.shown_and_true,
    "exact.decrement": partial(errors.exact, "brick", "decrement_error_percent", 1),
    "exact.shift": partial(errors.exact, "brick", "time_shift_error_h", 3),
    "exact.cold_cavity": errors.cold_cavity,
    "exact.en15026": partial(errors.exact, "en15026", "temperature_K", 3),
    "exact.hamstad_100": partial(errors.exact, "hamstad_2", "largest_100h_percent", 2),
    "exact.hamstad_1000": partial(errors.exact, "hamstad_2", "largest_1000h_percent", 2),
    "checks.nearest": checks.nearest,
    "checks.kinds": checks.kinds,
    "checks.directions": checks.directions,
    "checks.kinds_in_a_line": checks.kinds_in_a_line,
    "checks.cases": checks.cases,
    **{f"checks.{status}": partial(checks.count, status) for status in ("pass", "fail", "shown")},
    "order.space": partial(checks.order, "space"),
    "order.time": partial(checks.order, "time"),
    **{f"forty.{key}": partial(checks.forty, key) for key in ("walls", "expectations", "met")},
    "years.paint": partial(years.years, "latex-paint"),
    "years.film": partial(years.years, "polyethylene-150um"),
    "years.no_run_off": years.no_run_off,
    "years.peak": partial(years.coldest, "mc", run_off=True),
    "years.index": partial(years.coldest, "index", run_off=True),
    "years.peak_no_run_off": partial(years.coldest, "mc", run_off=False),
    "years.index_no_run_off": partial(years.coldest, "index", run_off=False),
    "years.versions": partial(versions, "real_years"),
    "least.table": years.least,
    "costs.studies": costs.studies,
    "costs.bare": costs.bare,
    "costs.cores": costs.cores,
    "speed.over_cvode": speed.over_cvode,
    "speed.years": speed.years,
    "speed.alone": speed.alone,
    "speed.side_by_side": speed.side_by_side,
    **{
        f"card.{f.__name__}": f
        for f in (
            card.speed,
            card.agreement,
            card.processor,
            card.copies,
            card.together,
            card.made,
            card.random_walls,
            card.random_phases,
            card.maps,
            card.same_maps,
            card.maps_made,
            card.studies_made,
        )
    },
    **{f"made.{name}": partial(speed.made, name) for name in ("throughput",)},
}
