"""What studies found in inch-pound units, worked out by hand."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from rich.table import Table

from hygro.decide.axis import Axis
from hygro.decide.beside import Beside
from hygro.decide.in_units import beside_in, found_in
from hygro.decide.least import Least, LeastValues
from hygro.decide.limit import Limited
from hygro.decide.map import Mapped
from hygro.decide.point import PointResult
from hygro.decide.years import Year, YearsResult
from hygro.decide.years_files import years_pieces
from hygro.study.limit import Limit
from hygro.study.trials import Trial
from hygro.units import System

R = Axis("outboard_R", "outboard R", "", "thermal resistance", 0.0, 5.0)
FEET = Axis("layers.x.thickness", "x", "ft", "length", 0.1, 0.8)
MM = Axis("layers.x.thickness", "x", "mm", "length", 25.4, 254.0)
SHARE = Axis("winter_rh", "indoor RH", "%", "fraction", 20.0, 60.0)
R_IP = 5.678263  # ft2.h.degF/Btu in 1 m2.K/W


def at(**values: float) -> PointResult:
    return PointResult(0, values, True, 0.1, "tight", "x", "mc", "within limits", {}, "")


def test_a_map_stands_in_the_units_asked_for() -> None:
    lines = [np.array([[1.0, 20.0], [2.0, 60.0]])]
    found = Mapped(R, SHARE, np.zeros((1, 2)), [at(outboard_R=2.0, winter_rh=30.0)], lines, 0, True)
    told = found_in(found, "ip")
    assert told.x.label() == "outboard R, ft²·h·°F/Btu"
    assert told.x.ends == pytest.approx((0.0, 5 * R_IP), rel=1e-6)
    assert told.y == SHARE  # per cent in either family
    assert told.lines[0] == pytest.approx(np.array([[R_IP, 20.0], [2 * R_IP, 60.0]]), rel=1e-6)
    assert told.results[0].at == pytest.approx({"outboard_R": 2 * R_IP, "winter_rh": 30.0})
    assert found_in(found, "si") is found
    words = "IRC 2021, zone 7: R 1.76 m²·K/W outboard"
    next_to = Beside((2.0, 30.0), lines, 1.76, "x", words)
    there = beside_in(next_to, found, "ip")
    assert there.own == pytest.approx((2 * R_IP, 30.0))
    assert there.code == pytest.approx(1.76 * R_IP, rel=1e-6)
    assert there.code_words == "IRC 2021, zone 7: R-10.0 outboard"
    assert there.dew_lines[0][0] == pytest.approx((R_IP, 20.0))


@pytest.mark.parametrize(("axis", "ends", "unit"), [(MM, (1.0, 10.0), "in"), (FEET, None, "ft")])
def test_a_limit_stands_in_the_units_asked_for(
    axis: Axis, ends: tuple[float, float] | None, unit: str
) -> None:
    low, high = axis.ends
    trials = (Trial(low, True), Trial(high, False, ("a",), ("tight: face at 21.0 °C",)))
    found = Limited(axis, 50.8, Limit(trials), [at(**{axis.name: low}), at(**{axis.name: high})])
    told = found_in(found, "ip")
    expected = ends or (low, high)  # what is written in feet stays
    assert told.along.ends == pytest.approx(expected)
    assert told.along.full_unit == unit
    assert [trial.value for trial in told.limit.trials] == pytest.approx(expected)
    assert told.limit.windows[0].high.reasons == ("tight: face at 69.8 °F",)
    assert told.own == pytest.approx(2.0 if ends else 50.8)
    assert [result.at[axis.name] for result in told.results] == pytest.approx(expected)


def test_least_values_stand_in_the_units_asked_for() -> None:
    row = Least({"winter_rh": 30.0}, 3.0, 2.75, "x", 0.25, 9, "")
    told = found_in(LeastValues(R, (SHARE,), (row,), 0.25), "ip")
    assert told.rows[0].value == pytest.approx(3.0 * R_IP, rel=1e-6)
    assert told.rows[0].fails == pytest.approx(2.75 * R_IP, rel=1e-6)
    assert told.rows[0].uncertainty == pytest.approx(0.25 * R_IP, rel=1e-6)
    assert told.within == pytest.approx(0.25 * R_IP, rel=1e-6)
    assert told.rows[0].at == {"winter_rh": 30.0}


def test_an_sd_stays_what_it_is() -> None:
    sd = Axis("inner_permeance", "inner", "m sd", "permeance", 0.1, 10.0)
    trials = (Trial(0.1, True), Trial(10.0, True))
    found = Limited(sd, None, Limit(trials), [at(inner_permeance=0.1), at(inner_permeance=10.0)])
    assert found_in(found, "ip") == found


def test_a_bare_number_of_a_limit_has_its_unit() -> None:
    assert SHARE.said(25.646) == "25.65 %"
    assert R.said(2.0) == "2 m²·K/W"


def test_an_r_is_written_before_its_number() -> None:
    trade = R._replace(unit="R", high=40.0)
    assert trade.said(34.07) == "R-34.07"
    assert trade.said_from(20.0, 34.07) == "R-20 to R-34.07"
    assert MM.said_from(20.0, 34.0) == "20 to 34 mm"
    assert trade.label() == "outboard R, ft²·h·°F/Btu"
    assert trade._replace(unit="RSI").said(2.5) == "RSI-2.5"
    turned = Limit((Trial(20.0, False), Trial(34.07, True), Trial(40.0, True)))
    words = turned.at("wall", "outboard R", "R").lines()
    assert words == [
        "wall, outboard R: tried R-20 to R-40, 3 values",
        "within limits between R-34.07 and R-40",
        "below that, at R-20:",
    ]


@pytest.mark.parametrize(
    ("system", "cells"),
    # 50 °F is 10 °C; 635 mm are 25 in
    [("si", ("10.0 °C", "635 mm")), ("ip", ("50.0 °F", "25.0 in"))],
)
def test_years_say_what_fell_in_the_units_asked_for(system: System, cells: tuple[str, str]) -> None:
    plan: Any = SimpleNamespace(base=SimpleNamespace(wall=SimpleNamespace(name="w")))
    year = Year(1, 1, 1.0, at(year=1), 10.0, 635.0)
    _, table, *_ = years_pieces(YearsResult((year,), None, plan, ("",)), system)
    assert isinstance(table, Table)
    shown = {str(column.header): next(iter(column.cells)) for column in table.columns}
    assert (shown["mean"], shown["precip."]) == cells
