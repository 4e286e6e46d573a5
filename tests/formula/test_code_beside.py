"""The code and the room beside a verdict: rows of the tables, looked up for a wall by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import xarray as xr
from feature_walls import frame
from real_walls import plain

from hygro.room.models import Constant, Seasonal
from hygro.show.by_hand import code_lines, room_words
from hygro.study.hand import HandNumbers, hand_numbers
from hygro.wall.elements import Gap, Layer, Membrane
from hygro.wall.wall import Wall

R_IP = 0.1761
"""One ft²·h·°F/Btu in m²·K/W, four digits."""


def steady(celsius: float | np.ndarray) -> xr.Dataset:
    """A year of one temperature, or of monthly ones."""
    time = np.datetime64("2001-01-01T01", "ns") + np.arange(8760) * np.timedelta64(1, "h")
    T = np.broadcast_to(np.asarray(celsius, float) + 273.15, (8760,)).copy()
    return xr.Dataset(
        {"temperature": ("time", T), "vapour_pressure": ("time", np.full(8760, 300.0))},
        coords={"time": time},
    )


ZONE_5 = steady(8.3)
"""10 K below 18.3 °C for 365 days: 3650 K·d, between 3000 and 4000."""


def outboard(R: float, *, inside: str = "latex-paint", cavity: float = 0.14) -> Wall:
    """Cladding, vented gap, insulation of a resistance, board, wool, board, a sheet inside."""
    return Wall("w", (
        Layer("fibre-cement", 0.008, name="cladding"), Gap("gap", 0.02, 100.0),
        Layer(plain(0.04), 0.04 * R, name="outer"), Layer("osb", 0.011, name="sheathing"),
        Layer("glass-wool-batt", cavity, name="wool"),
        Layer("gypsum-board", 0.013, name="board"), Membrane(inside, name="sheet"),
    ))  # fmt: skip


def beside(wall: Wall, year: xr.Dataset = ZONE_5) -> HandNumbers:
    return hand_numbers(wall, year, Constant(294.15, 0.4), "sheathing")


@pytest.mark.parametrize(
    ("cavity", "least"),
    # 2021 IRC R702.7(3), zone 5, class III, as printed: over 2x6, R-5 over 2x4
    [(0.14, 7.5), (0.09, 5.0)],
)
def test_least_outboard_insulation_is_that_of_the_zone_and_the_studs(cavity, least) -> None:
    code = beside(outboard(1.0, cavity=cavity)).code
    assert code is not None
    assert (code.zone, code.retarder, code.permitted) == ("5", "III", "conditional")
    assert code.least == pytest.approx(least * R_IP, rel=1e-3)  # four digits of the conversion
    assert code.outboard == pytest.approx(1.0)


def test_a_wall_below_the_code_is_told_and_one_above_is_not_called_sound() -> None:
    below, above = beside(outboard(1.0)), beside(outboard(1.4))
    assert below.code is not None
    assert above.code is not None
    assert (below.code.below, above.code.below) == (True, False)
    assert "below the code's R" in code_lines(below)[-1]
    assert "no proof" in code_lines(above)[-1]
    assert "meets" not in " ".join(code_lines(above))
    assert "read in an extract of the code" in code_lines(above)[-1]


def test_a_class_one_retarder_inside_has_its_own_rule() -> None:
    code = beside(outboard(1.0, inside="polyethylene-150um")).code
    assert code is not None
    assert (code.retarder, code.permitted, code.least, code.below) == ("I", "yes", None, None)
    # zone 3: 18.3 - 13.5 = 4.8 K for 365 days, 1752 K·d, at most 2000; class I may not stand inside
    warm = beside(outboard(1.0, inside="polyethylene-150um"), steady(13.5)).code
    assert warm is not None
    assert (warm.zone, warm.permitted) == ("3", "no")


def test_what_the_tables_do_not_hold_is_not_made_up() -> None:
    # zone 2 is not in the table of class III: base 10 °C, 10 K for 365 days are 3650 K·d, over 3500
    code = beside(outboard(1.0), steady(20.0)).code
    assert code is not None
    assert (code.zone, code.least) == ("2", None)
    assert "no value at hand" in code.place
    solid = beside(outboard(1.0, cavity=0.03)).code
    assert solid is not None
    assert solid.place.startswith("no stud cavity")


def test_the_code_asks_for_the_rated_resistance() -> None:
    """R-7.5 of polyiso by its rating at 24 °C has the code's R, though it has less when cold."""
    wall = outboard(1.0)
    rated = Layer("polyiso", resistance=7.5 * R_IP, name="outer")
    found = beside(replace(wall, layers=(*wall.layers[:2], rated, *wall.layers[3:])))
    assert found.code is not None
    assert found.code.outboard == pytest.approx(7.5 * R_IP)
    assert found.code.below is False
    (outer,) = (row for row in found.rows if row.name == "outer")
    assert outer.R < 0.97 * 7.5 * R_IP  # at 10 °C, for U


def test_cladding_and_the_gap_before_it_are_not_outboard_insulation() -> None:
    code = beside(frame(Gap("gap", 0.02, 100.0))).code
    assert code is not None
    assert code.outboard == pytest.approx(0.0, abs=0.02)  # the barrier alone


def test_room_is_told_for_winter_and_for_the_shoulder_seasons() -> None:
    """Six months between the three coldest and the three warmest: half of them in each season."""
    month = np.minimum(np.arange(8760) // 730, 11)
    celsius = np.array([-9, -8, -3, 3, 8, 14, 16, 15, 9, 4, -2, -7.0])[month]
    room = Seasonal(
        winter_temperature=294.15, summer_temperature=294.15, winter_rh=0.30, summer_rh=0.60
    )
    found = hand_numbers(outboard(1.0), steady(celsius), room, "sheathing")
    assert found.winter_rh < found.shoulder_rh < 0.60
    assert f"{100 * found.winter_rh:.0f} % RH in the mean" in room_words(found)
    even = hand_numbers(outboard(1.0), steady(celsius), Constant(294.15, 0.4), "sheathing")
    assert even.shoulder_rh == pytest.approx(0.4)


def test_where_it_is_never_colder_outdoors_no_share_of_insulation_is_asked() -> None:
    found = beside(outboard(1.0), steady(26.0))
    assert found.least_share == 0.0
    assert found.winter_outdoor > found.winter_indoor
