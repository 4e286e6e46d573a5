"""Climate zones of five real stations against the assignment of ASHRAE 169 (from memory)."""

from __future__ import annotations

import importlib.util
from pathlib import Path

import numpy as np
import pytest

import weather
from weather.summary import moisture_regime, thermal_zone

# County assignments of ASHRAE 169 (from memory): Miami 1A, Greensboro 4A, Chicago 5A, Sand Point
# (Aleutians East) 7, Northway (Southeast Fairbanks) 8.
ZONES = {
    ("pvlib", "data/12839.tm2"): 1,
    ("pvlib", "data/723170TYA.CSV"): 4,
    ("diyepw", "data/tmy_epw_files/USA_IL_Chicago.OHare.Intl.AP.725300_TMY3.epw"): 5,
    ("pvlib", "data/703165TY.csv"): 7,
    ("diyepw", "data/tmy_epw_files/USA_AK_Northway.AP.702910_TMY3.epw"): 8,
}


@pytest.mark.parametrize(("source", "zone"), ZONES.items(), ids=str)
def test_thermal_zone_of_real_stations(source: tuple[str, str], zone: int) -> None:
    package, name = source
    spec = importlib.util.find_spec(package)
    if spec is None or spec.origin is None:
        pytest.fail(f"{package} ships the file: install it (pip install --no-deps {package})")
    summary = weather.summarise(weather.read(Path(spec.origin).parent / name))
    assert summary.thermal_zone == zone
    if zone == 5:
        assert summary.moisture_regime == "A"


@pytest.mark.parametrize(
    ("heating", "cooling", "zone"),
    [(0, 6001, 0), (0, 6000, 1), (500, 5000, 2), (2000, 3500, 3), (2001, 2000, 4), (7001, 0, 8)],
)
def test_thermal_zone_edges(heating: float, cooling: float, zone: int) -> None:
    # ASHRAE 169 limits (from memory); an edge belongs to the zone below it.
    assert thermal_zone(heating, cooling) == zone


def test_moisture_regimes_of_three_plain_climates() -> None:
    mild = [278.0 + 6.0 * (1 if 4 <= month <= 9 else 0) for month in range(1, 13)]
    winter_rain = [150.0 if month in (1, 2, 11, 12) else 20.0 for month in range(1, 13)]
    even = [90.0] * 12
    assert moisture_regime(mild, np.array(winter_rain), north=True) == "C"
    assert moisture_regime(mild, np.array(even), north=True) == "A"
    # 120 mm at a mean of 8 °C: below 20·(8 + 7) = 300 mm.
    assert moisture_regime(mild, np.array([10.0] * 12), north=True) == "B"
