"""Hand numbers of a wall against the sheathing table of exterior-insulated 2×6 walls.

The table is computed (series resistances, Magnus saturation) for 21.1 °C indoors: inside film and
gypsum R-1.13, cavity R-20, sheathing R-0.62, outer insulation, gap with cladding and film R-0.77.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import xarray as xr

from hygro.material import Material, library
from hygro.material.thermal import ConstantConductivity
from hygro.quantities import R_IP
from hygro.room.models import Constant
from hygro.study.hand import hand_numbers, winter_means
from hygro.wall.elements import Gap, Layer
from hygro.wall.wall import Wall
from weather.moistair import saturation_pressure

FILM = 0.13 / R_IP  # 0.13 m²·K/W, ISO 6946


def block(name: str, R: float) -> Layer:
    """A layer of R in ft²·h·°F/Btu; 100 mm of the conductivity that gives it."""
    base = library.get("osb")
    assert isinstance(base, Material)
    k = 0.1 / (R * R_IP)
    return Layer(replace(base, thermal=ConstantConductivity(k)), 0.1, name=name)


def wall(outer: float) -> Wall:
    outboard = (block("outboard", outer),) if outer else ()
    return Wall(
        "table",
        (
            block("cladding", 0.5),
            Gap("vented gap", 0.02, air_change=100.0),
            *outboard,
            block("sheathing", 0.62),
            block("cavity", 20.0),
            block("gypsum", 1.13 - FILM),
        ),
    )


def winter(celsius: float) -> xr.Dataset:
    time = np.datetime64("2001-01-01T01", "ns") + np.arange(8760) * np.timedelta64(1, "h")
    T = np.full(8760, celsius + 273.15)
    p = 0.8 * saturation_pressure(T)
    return xr.Dataset(
        {"temperature": ("time", T), "vapour_pressure": ("time", p)}, coords={"time": time}
    )


@pytest.mark.parametrize(
    ("outer", "outdoor", "face", "rh"),
    [
        (0.0, -8.0, -6.2, 0.15),
        (5.0, -8.0, -1.2, 0.22),
        (11.25, -8.0, 2.9, 0.30),
        (15.0, -11.0, 3.0, 0.30),
        (30.0, -21.0, 4.2, 0.33),
    ],
)
def test_face_of_the_sheathing_is_that_of_the_table(
    outer: float, outdoor: float, face: float, rh: float
) -> None:
    room = Constant(294.25, 0.35)
    found = hand_numbers(wall(outer), winter(outdoor), room, "sheathing")
    # 0.1 K: the table has one digit, and its outer film differs by R-0.03 (0.03 K)
    assert found.face_temperature - 273.15 == pytest.approx(face, abs=0.1)
    # 0.01: the table has two digits
    assert found.highest_rh == pytest.approx(rh, abs=0.01)
    total = FILM + outer + 0.62 + 20.0 + 1.13
    u_value = found.U
    assert u_value * total * R_IP == pytest.approx(1.0, rel=1e-9)  # round-off only
    assert found.outboard_share == pytest.approx((FILM + outer + 0.62) / total, rel=1e-9)


def test_layers_outside_a_ventilated_gap_are_listed_but_not_counted() -> None:
    found = hand_numbers(wall(5.0), winter(-8.0), Constant(294.25, 0.35), "sheathing")
    assert [row.name for row in found.rows][:2] == ["cladding", "vented gap"]
    assert any("'vented gap'" in note and "not counted" in note for note in found.notes)


def test_winter_is_the_three_coldest_months_of_the_weather() -> None:
    found = winter(0.0)
    month = (found["time"].values - np.timedelta64(1, "h")).astype("datetime64[M]").astype(int) % 12
    T = 280.0 + month.astype(float)  # January to March are the coldest here
    climate = found.assign(temperature=("time", T))
    outdoor, indoor, vapour = winter_means(climate, Constant(294.25, 0.35))
    days = np.array([31, 28, 31])
    assert outdoor == pytest.approx((days * [280.0, 281.0, 282.0]).sum() / 90, rel=1e-12)
    assert indoor == pytest.approx(294.25)
    assert vapour == pytest.approx(0.35 * float(saturation_pressure(294.25)), rel=1e-12)
