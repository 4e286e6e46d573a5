"""Ten generated years against the real year whose normals they were made from.

Tolerances: what the generator is asked for (benchmarks/generator.py); its numbers were fitted to
these four files, so this guards the fit and is no independent proof.
"""

from __future__ import annotations

from functools import cache

import pytest

from benchmarks.generator import FITTED, STATISTICS, Line, compare, year_of
from hygro.proof.years import Station

ASKED = [item.text for item in STATISTICS if item.tolerance is not None]


@cache
def lines(station: Station) -> dict[str, Line]:
    try:
        year_of(station)
    except FileNotFoundError as error:
        pytest.fail(f"{error}: pip install --no-deps {station.package}")
    # Another seed than that of the printed page.
    return {line.statistic.text: line for line in compare(station, years=10, seed=5)}


@pytest.mark.parametrize("text", ASKED)
@pytest.mark.parametrize("station", FITTED, ids=lambda station: station.place)
def test_made_years_meet_the_real_one(station: Station, text: str) -> None:
    line = lines(station)[text]
    assert line.within, f"{text}: file {line.real:.4g}, made {line.made:.4g}"


@pytest.mark.parametrize("place", ["Chicago IL", "Greensboro NC"])
def test_real_driving_rain_lies_among_the_made_years(place: str) -> None:
    (station,) = (item for item in FITTED if item.place == place)
    assert lines(station)["free driving rain, worst of 8 sides [mm]"].among
