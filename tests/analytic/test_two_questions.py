"""Service and closing in: which part of a record answers which question, and what fails whom."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from assess_records import BOARD, CLADDING, OSB, WOOL, record
from feature_walls import frame

from hygro.assess import CRITERIA, mould, mould_index, summary, verdict
from hygro.assess.judge import merged
from hygro.declare import plain
from hygro.show.report import stored
from hygro.wall.leaks import RainLeak

YEAR = 8760
ONE_CELL = (CLADDING._replace(cells=1), OSB._replace(cells=1), BOARD._replace(cells=1))
DRY, WET = 60.0, 150.0
"""10 % and 25 % of 600 kg/m³."""


def with_water(hours: int, *wet: slice):
    content = np.full(hours + 1, DRY)
    for part in wet:
        content[part] = WET
    return record(ONE_CELL, hours=hours, water=content)


WET_START, EVERY_WINTER = slice(0, 960), slice(2000, 4000)


def test_a_wet_start_that_dries_fails_nothing_over_two_years() -> None:
    found = verdict(with_water(2 * YEAR, WET_START))
    assert (found.passed, found.outcome) == (True, "within limits")
    (drying,) = found.of("drying")
    assert drying.value == pytest.approx(960 / 24)
    assert (found.skip_days, found.start) == (365.0, "2031-10-01T00")
    (month,) = found.of("mc_30d")
    assert month.value == pytest.approx(0.10)


def test_one_year_from_a_start_cannot_tell_the_two_apart_and_says_so() -> None:
    found = verdict(with_water(YEAR, WET_START))
    assert found.passed is False
    assert any("judged together" in note for note in found.notes)
    assert found.of("closing_mould") == ()


def test_a_wall_that_is_wet_every_winter_fails_in_service() -> None:
    later = slice(EVERY_WINTER.start + YEAR, EVERY_WINTER.stop + YEAR)
    found = verdict(with_water(2 * YEAR, EVERY_WINTER, later))
    assert (found.outcome, found.passed_in("closing in")) == ("fails", True)
    assert {f.criterion.key for f in found.failed} == {"mc_30d"}


def test_wood_still_wet_after_a_year_fails_closing_in() -> None:
    found = verdict(with_water(2 * YEAR, slice(0, YEAR + 1)))
    (drying,) = found.of("drying")
    assert (drying.value, drying.passed) == (pytest.approx(365.0), False)
    assert "still wet" in drying.reason


def first_year_humid(hours: int):
    humid = np.full((hours + 1, 5, 2), 0.5)
    humid[:3000, 2, 0] = 0.97
    return record(hours=hours, face_rh=humid)


def test_mould_of_the_first_year_fails_closing_in_and_not_service() -> None:
    found = verdict(first_year_humid(2 * YEAR))
    assert (found.passed, found.outcome) == (False, "fails closing in")
    assert [(f.criterion.key, f.place) for f in found.failed] == [
        ("closing_mould", "osb, inner face")
    ]
    assert found.passed_in("service") is True
    # summary tells of service
    assert summary(first_year_humid(2 * YEAR))["mould_index_max"] == 0.0


def test_days_left_out_by_the_user_are_left_out_of_service() -> None:
    ds = with_water(2 * YEAR, WET_START)
    found = verdict(ds, skip_days=0)
    assert found.outcome == "fails"
    assert any("judged together" in note for note in found.notes)
    assert verdict(ds, skip_days=40).outcome == "within limits"


def periodic(ds, drift: float = 0.003):
    return ds.assign_attrs(periodic_rounds=4, periodic_drift=drift)


def test_a_periodic_record_is_judged_for_service_alone() -> None:
    found = verdict(periodic(with_water(YEAR)))
    assert {f.criterion.question for f in found.findings} == {"service"}
    assert found.outcome == "within limits"
    (gain,) = found.of("accumulation")
    assert (gain.value, gain.hard, gain.passed) == (0.003, True, True)
    (gain,) = verdict(periodic(with_water(YEAR), drift=0.3)).of("accumulation")
    assert gain.passed is False


def test_the_mould_index_of_a_periodic_year_grows_through_ten_years() -> None:
    humid = np.full((YEAR + 1, 5, 2), 0.5)
    humid[2000:2300, 2, 0] = 0.97
    ds = record(hours=YEAR, face_rh=humid)
    place = "osb, inner face"
    once = mould(ds).sel(surface=place).values
    often = mould(periodic(ds)).sel(surface=place).values
    assert often.max() > 1.5 * once.max()
    rh = np.concatenate([humid[:, 2, 0], *[humid[1:, 2, 0]] * 9])
    expected = mould_index(np.full(len(rh), 293.15), rh, sensitivity="sensitive")
    assert often == pytest.approx(expected[-YEAR - 1 :])


def test_the_first_line_names_the_span_of_both_questions() -> None:
    both = "service 2031-10-01 to 2032-09-30, closing in from 2030-10-01"
    found = verdict(with_water(2 * YEAR))
    assert repr(found).splitlines()[0].endswith(both)
    assert found.to_dict()["closing_start"] == "2030-10-01T00"
    ds = periodic(with_water(YEAR))
    assert (verdict(ds).span, verdict(ds).closing_start) == ("2030-10-01 to 2031-10-01", None)
    assert verdict(with_water(YEAR)).span == "2030-10-01 to 2031-10-01"
    start = with_water(YEAR).assign_attrs(question="closing in")
    assert merged(verdict(ds), verdict(start)).closing_start == "2030-10-01T00"
    told = stored({}, found, system="si", file=Path("x.nc"))
    assert any(both in str(piece) for piece in told)


def test_two_records_make_one_verdict() -> None:
    start = first_year_humid(YEAR).assign_attrs(question="closing in")
    closing = verdict(start)
    assert {f.criterion.question for f in closing.findings} == {"closing in"}
    service = verdict(periodic(with_water(YEAR)))
    both = merged(service, closing)
    assert both.outcome == "fails closing in"
    assert both.findings == (*service.findings, *closing.findings)
    assert len(both.notes) == len({*service.notes, *closing.notes})


def test_a_rain_leak_without_rain_is_no_pass() -> None:
    leak = RainLeak("sheathing", 0.01)
    stored = json.dumps(plain(replace(frame(), leaks=[leak])))
    dry = record((CLADDING, OSB, WOOL, BOARD)).assign_attrs(wall=stored)
    found = verdict(dry)
    assert (found.passed, found.outcome) == (None, "not judged")
    assert [f.reason for f in found.unjudged if f.hard] == [
        "the rain leak: rain that leaks not judged, no rain met the wall, so it was not tried"
    ]
    rained = record((CLADDING, OSB, WOOL, BOARD), flows={"rain_incident": 1e-6})
    assert verdict(rained.assign_attrs(wall=stored)).passed is True


def test_every_shipped_criterion_asks_one_of_the_questions() -> None:
    asked = {row.key for row in CRITERIA if row.question == "closing in"}
    assert asked == {"drying", "closing_mould"}
