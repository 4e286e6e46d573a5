"""Limits of the ratings from both sides: just within and just beyond, on records made by hand.

The limits are those of `docs/verdict.md`, where their sources stand.
"""

from __future__ import annotations

import json
import math
from typing import Any

import numpy as np
import pytest
import xarray as xr
from assess_records import BOARD, CLADDING, GYPSUM, OSB, WOOL, L, record, saturation
from feature_walls import frame
from real_walls import STILL, plain

from hygro.assess import (
    Criterion,
    condensate,
    corrosion,
    face_condensation,
    find_sheathing,
    freeze_thaw,
    metal_ratings,
    mould_index,
    summary,
    surface_humidity,
    verdict,
)
from hygro.assess.criteria import CRITERIA
from hygro.assess.metal import fin_share
from hygro.assess.summary import leaked_air
from hygro.assess.verdict import margin_words
from hygro.declare import plain as as_plain
from hygro.wall.elements import Layer
from hygro.wall.interruptions import Attachment
from hygro.wall.leaks import AirLeak, RainLeak
from hygro.wall.wall import Wall

YEAR = 8760
LIMITS = {
    "mould_index": (3.0, "below"),
    "mc_30d": (0.20, "at most"),
    "mc_24h": (0.28, "below"),
    "decay": (1.0, "below"),
    "accumulation": (0.05, "at most"),
    "condensate": (0.5, "at most"),
    "drained_inside": (0.5, "at most"),
    "rh_30d": (0.80, "below"),
    "rh_7d": (0.98, "below"),
    "rh_24h": (1.0, "below"),
    "corrosion": (0.80, "below"),
    "corrosion_hours": (2500.0, "at most"),
    "run_off": (0.2, "at most"),
    "drying": (365.0, "below"),
    "closing_mould": (3.0, "below"),
    "dose": (325.0, "below"),
}
"""As the table of the verdict page has them."""


@pytest.mark.parametrize("key", LIMITS)
def test_criteria_turn_at_the_documented_limit(key: str) -> None:
    (row,) = [item for item in CRITERIA if item.key == key]
    limit, sense = LIMITS[key]
    assert row.holds(limit * (1 - 1e-9))
    assert not row.holds(limit * (1 + 1e-9))
    assert row.holds(limit) is (sense == "at most")


def test_margin_is_the_share_of_the_limit_that_is_left() -> None:
    row = Criterion(key="x", quantity="x", limit=4.0)
    assert row.finding("p", 3.0).margin == pytest.approx(0.25)
    assert row.finding("p", 5.0).margin == pytest.approx(-0.25)
    assert row.finding("p", 5.0).reason.endswith("beyond limit")
    assert row.finding("p", None).passed is None


@pytest.mark.parametrize(
    ("sense", "words"),
    [("below", ("beyond limit", False, "-0.0 %")), ("at most", ("within limit", True, "+0.0 %"))],
)
def test_a_value_at_its_limit_is_on_one_side_everywhere(sense: Any, words: tuple[Any, ...]) -> None:
    row = Criterion(key="x", quantity="x", limit=1.0, sense=sense, hard=False)
    found = row.finding("p", 1.0)
    side = found.reason.rsplit(": ", 1)[1]
    assert (side, found.passed, margin_words(found.margin)) == words
    assert found.outcome.removeprefix("advisory: ") == side


def test_humidity_beyond_full_counts_as_full() -> None:
    warm = np.full(1000, 293.15)
    assert mould_index(warm, np.full(1000, 1.3)).tolist() == (
        mould_index(warm, np.full(1000, 1.0)).tolist()
    )


@pytest.mark.parametrize(("celsius", "grows"), [(0.5, False), (45.0, True), (50.0, False)])
def test_mould_grows_up_to_fifty_degrees(celsius: float, grows: bool) -> None:
    found = mould_index(np.full(2, celsius + 273.15), np.full(2, 0.97))[1]
    # class sensitive: 0.578·(1 − exp(−2.3·ceiling)) over the hours to index 1 on wood; at 0.5 °C
    # the critical humidity is 98.5 %
    weeks = math.exp(-0.68 * math.log(45.0) - 13.9 * math.log(97.0) + 66.02)
    q = (97.0 - 80.0) / 20.0
    ceiling = 0.3 + 6.0 * q - q * q
    hour = 0.578 * (1.0 - math.exp(-2.3 * ceiling)) / (168.0 * weeks)
    assert found == pytest.approx(hour if grows else 0.0, rel=1e-9)


@pytest.mark.parametrize(("millimetres", "parts"), [(20.0, 1), (20.5, 2), (60.0, 2)])
def test_wood_thicker_than_20_mm_is_judged_by_its_skins(millimetres: float, parts: int) -> None:
    timber = L("timber", 1e-3 * millimetres, 450.0, wood=1, mould="sensitive")
    found = verdict(record((CLADDING, timber)), sheathing="timber").of("mc_30d")
    assert len(found) == parts
    if parts == 2:
        assert [f.place for f in found] == ["timber, outer 10 mm", "timber, inner 10 mm"]


@pytest.mark.parametrize(("content", "dried"), [(0.199, 0.0), (0.201, None)])
def test_wood_is_dry_below_20_per_cent(content: float, dried: float | None) -> None:
    (row,) = verdict(record(water=content * 600.0)).of("drying")
    assert row.value == dried


def test_moisture_content_beyond_fibre_saturation_is_told_as_such() -> None:
    reasons = [
        verdict(record(water=content * 600.0)).of("mc_24h")[0].reason for content in (0.27, 0.29)
    ]
    assert "27.0 %" in reasons[0]
    assert "> 28.0 %" in reasons[1]


def test_windows_are_of_30_days_and_of_a_day() -> None:
    water = np.full(961, 60.0)
    water[100:124] = 150.0
    numbers = summary(record(water=water))
    # 24 hours of 25 % among 10 %
    assert numbers["mc_24h_max"] == pytest.approx(0.25)
    assert numbers["mc_30d_max"] == pytest.approx((24 * 0.25 + 696 * 0.10) / 720)
    (month,), (day,) = (verdict(record(water=water)).of(key) for key in ("mc_30d", "mc_24h"))
    assert (month.value, day.value) == (numbers["mc_30d_max"], numbers["mc_24h_max"])


def test_hours_of_the_summary_are_above_20_and_28_per_cent() -> None:
    water = np.full(961, 60.0)
    for k, content in enumerate((0.195, 0.205, 0.215, 0.27, 0.279, 0.281, 0.30)):
        water[10 + k] = content * 600.0
    numbers = summary(record(water=water))
    assert (numbers["hours_mc_above_20"], numbers["hours_mc_above_28"]) == (6, 2)


@pytest.mark.parametrize("wet", [0, 3])
def test_skin_of_the_summary_is_the_wetter_three_millimetres(wet: int) -> None:
    # OSB of 12 mm in cells of 3 mm
    water = np.full(16, 60.0)
    water[4 + wet] = 120.0
    assert summary(record(water=water))["mc_30d_skin_max"] == pytest.approx(0.20)


def test_the_more_humid_face_of_the_sheathing_is_told() -> None:
    humid = np.full((5, 2), 0.5)
    humid[1, 1], humid[2, 0] = 0.7, 0.6
    numbers = summary(record(face_rh=humid))
    assert numbers["rh_30d_max"] == pytest.approx(0.7)
    assert numbers["rh_surface"] == "osb, outer face"


def at_face(rh: float | np.ndarray, kelvin: float | np.ndarray = 293.15, hours: int = 960):
    return record(hours=hours, face_rh=rh, face_temperature=kelvin)


@pytest.mark.parametrize(
    ("celsius", "judged"), [(4.9, False), (5.1, True), (39.9, True), (40.1, False)]
)
def test_humidity_rules_hold_from_5_to_40_degrees(celsius: float, judged: bool) -> None:
    found = surface_humidity(at_face(0.7, celsius + 273.15), "osb", "inner")
    for peak in (found.month, found.week, found.day):
        assert math.isfinite(peak.value) is judged


def test_week_and_day_of_the_humidity_rules() -> None:
    rh = np.full(961, 0.5)
    rh[400:448] = 0.9  # two days
    found = surface_humidity(at_face(rh), "osb", "inner")
    assert found.day.value == pytest.approx(0.9)
    assert found.week.value == pytest.approx((48 * 0.9 + 120 * 0.5) / 168)
    assert found.month.value == pytest.approx((48 * 0.9 + 672 * 0.5) / 720)


def test_hours_of_corrosion_are_above_80_per_cent() -> None:
    rh = np.full(961, 0.5)
    rh[10:13], rh[20:24] = 0.79, 0.81
    assert corrosion(at_face(rh), "osb", "inner").above_80.hours == 4


def test_a_face_within_a_thousandth_of_saturation_condenses() -> None:
    rh = np.full(961, 0.5)
    rh[10:13], rh[20:24], rh[30:35] = 0.9985, 0.9995, 1.0
    assert face_condensation(at_face(rh), "osb", "inner").condensing.hours == 9


def test_water_counts_as_condensate_within_ten_millimetres_and_beyond_sorption() -> None:
    water = np.full((961, 16), 10.0)
    water[:, 8:12] = 20.0  # wool, cells of 35 mm
    water[500, 8] = 70.0
    layers = (CLADDING, OSB, WOOL._replace(w_sorbed=20.0), BOARD)
    found = condensate(record(layers, water=water), "osb | wool").values
    assert found[500] == pytest.approx(0.010 * 50.0)
    # what the curve holds at 95 % is not beyond it
    assert found[499] == 0.0


@pytest.mark.parametrize(
    ("celsius", "saturation_share", "cycles"),
    # frozen from −2 °C down; nearly full from 80 % of the pores
    [(-1.9, 0.9, 0), (-2.1, 0.9, 1), (-5.0, 0.79, 0), (-5.0, 0.80, 1), (-5.0, 0.85, 1)],
)
def test_a_freeze_counts_from_two_degrees_of_frost_and_four_fifths_full(
    celsius: float, saturation_share: float, cycles: int
) -> None:
    kelvin = np.full(49, 278.15)
    kelvin[20:30] = celsius + 273.15
    ds = record(
        (CLADDING,), hours=48, temperature=kelvin, face_temperature=kelvin,
        water=saturation_share * 300.0,
    )  # fmt: skip
    assert freeze_thaw(ds, "cladding", saturation=0.8).cycles == cycles


def test_a_pause_just_below_zero_is_no_thaw() -> None:
    kelvin = np.full(49, 268.15)
    kelvin[:5] = 278.15
    kelvin[20:25] = 272.65  # −0.5 °C between two frosts
    options = {"hours": 48, "temperature": kelvin, "face_temperature": kelvin, "water": 290.0}
    assert freeze_thaw(record((CLADDING,), **options), "cladding", saturation=0.8).cycles == 1


@pytest.mark.parametrize(("density", "name"), [(290.0, "board"), (310.0, "insulation")])
def test_a_board_weighs_at_least_300_kilograms(density: float, name: str) -> None:
    layers = (CLADDING, L("insulation", 0.05, density), BOARD)
    assert find_sheathing(record(layers)).name == name


def test_a_heavy_cladding_is_not_taken_for_the_sheathing() -> None:
    assert find_sheathing(record((CLADDING, WOOL, BOARD))).name == "board"


def crossed(hours: int = 240, **state: object) -> tuple[xr.Dataset, Wall, Layer, Attachment]:
    """100 mm of insulation with screws before 12 mm of board, and a record of it."""
    screws = Attachment("screws", 0.4, 0.006)
    layer = Layer(plain(0.035), 0.10, name="insulation", attachments=(screws,))
    wall = Wall("w", (layer, Layer(plain(0.13), 0.012, name="board")), outside=STILL)
    layers = (L("insulation", 0.10, 100.0, absorbent=0), L("board", 0.012, 100.0))
    ds = record(layers, hours=hours, **state)
    ds.attrs["wall"] = json.dumps(as_plain(wall))
    return ds, wall, layer, screws


def test_share_of_a_shank_is_that_of_the_fin_equation() -> None:
    _, wall, layer, screws = crossed()
    # head held by 1 W/K; embedded in 12 mm of board, twice the diameter: S = 2πL/ln(4L/D)
    outer, inner = 1.0, 2 * math.pi * 0.012 * 0.13 / math.log(4 * 0.012 / 0.006)
    kA = 50.0 * math.pi / 4 * 36e-6
    g = 2 * math.pi * 0.035 / math.log(2 * 0.10 / 0.006)  # the thickness is less than half of 0.4
    m, n = math.sqrt(g / kA), 2000
    dx = 0.10 / n
    # the same equation by finite differences, T in shares between the planes
    x = np.linspace(0.0, 1.0, n + 1)
    A, b = np.zeros((n + 1, n + 1)), np.zeros(n + 1)
    for i in range(n + 1):
        side = m * m * kA * dx * (0.5 if i in (0, n) else 1.0)
        for j in (i - 1, i + 1):
            if 0 <= j <= n:
                A[i, i] += kA / dx
                A[i, j] -= kA / dx
        A[i, i] += side
        b[i] += side * x[i]
    A[0, 0] += outer
    A[n, n] += inner
    b[n] += inner
    # 1e-4: second order in cells of 50 µm
    assert fin_share(wall, layer, screws) == pytest.approx(np.linalg.solve(A, b)[n], abs=1e-4)


def test_a_thin_board_holds_a_shank_as_one_of_twice_its_diameter() -> None:
    _, wall, layer, screws = crossed()
    shares = []
    for thickness in (0.003, 0.012):
        thin = Layer(plain(0.13), thickness, name="board")
        shares.append(fin_share(Wall("w", (layer, thin), outside=STILL), layer, screws))
    assert shares[0] == pytest.approx(shares[1], abs=1e-12)
    assert fin_share(wall, layer, screws) == pytest.approx(shares[1], abs=1e-12)


def test_hours_at_metal_are_above_80_per_cent_and_above_freezing() -> None:
    kelvin = np.full(241, 278.15)
    kelvin[100:150] = 270.15
    rh = np.full(241, 0.5)
    rh[50:150] = 0.85
    rh[200:210] = 0.79
    ds, *_ = crossed(face_temperature=kelvin, face_rh=rh)
    (rated,) = metal_ratings(ds)
    # one temperature everywhere: the metal has it too; 50 of the 100 humid hours freeze
    assert rated.rated.above_80.hours == 50
    assert rated.rated.temperature == pytest.approx(kelvin)
    assert rated.rated.humidity == pytest.approx(rh)
    # the figure has the means of whole days, the start instant left out
    warm, humid = ds.hygro.plot.metal(judged=verdict(ds, sheathing="board")).axes
    assert warm.lines[0].get_ydata() == pytest.approx(kelvin[1:].reshape(-1, 24).mean(1) - 273.15)
    assert humid.lines[0].get_ydata() == pytest.approx(100.0 * rh[1:].reshape(-1, 24).mean(axis=1))


def test_metal_meets_the_air_of_its_place_of_the_cavity_and_of_the_room() -> None:
    rh = np.full((3, 2), 0.5)
    rh[1], rh[2] = 0.6, 1.0
    ds, *_ = crossed(
        face_temperature=283.15, face_rh=rh, indoor=(283.15, 0.9 * float(saturation(283.15)))
    )
    (rated,) = metal_ratings(ds)
    metal = rated.rated
    assert metal.below_dew_point.hours == 0
    assert metal.below_cavity_dew_point.hours == 240
    assert metal.below_indoor_dew_point.hours == 0
    moist = ds.assign(indoor_vapour_pressure=ds["indoor_vapour_pressure"] * 1.2)
    (wet,) = metal_ratings(moist)
    assert wet.rated.below_indoor_dew_point.hours == 240


def test_metal_wetter_than_saturation_counts_as_saturated() -> None:
    hours = 960
    rh = np.full((3, 2), 1.0)
    faces = np.full((3, 2), 293.15)
    faces[0] = 278.15  # a cold head: the metal lies below the dew point of the warm inner face
    ds, *_ = crossed(hours=hours, face_temperature=faces, face_rh=rh)
    (rated,) = metal_ratings(ds)
    assert rated.rated.month.value == pytest.approx(1.0, abs=1e-12)
    assert rated.rated.humidity == pytest.approx(np.ones(hours + 1), abs=1e-12)


def test_corrosion_decides_at_the_inner_face_alone() -> None:
    ds = record((CLADDING, GYPSUM, WOOL, BOARD), face_rh=0.85, face_temperature=283.15)
    assert {f.place: f.hard for f in verdict(ds).of("corrosion")} == {
        "gypsum sheathing, outer face": False,
        "gypsum sheathing, inner face": True,
    }


def test_condensate_at_wood_is_told_and_does_not_decide() -> None:
    found = verdict(record((CLADDING, OSB, WOOL, BOARD))).of("condensate")
    assert [f.hard for f in found] == [False]


def test_dew_point_hours_are_those_of_room_air() -> None:
    cool = np.full(961, 283.15)
    cool[100:130] = 273.15
    ds = record(face_rh=0.5, face_temperature=cool, indoor=(293.15, 800.0))
    # 800 Pa has its dew point at 3.8 °C
    (row,) = verdict(ds).of("dew_point_hours")
    assert row.value == 30.0


def test_run_off_looks_behind_the_cladding_alone() -> None:
    tight = CLADDING._replace(absorbent=0, w_sorbed=5.0)
    water = np.full((961, 16), 1.0)
    water[500:, 0] = 200.0  # outer cell of a tight cladding
    (row,) = verdict(record((tight, OSB, WOOL, BOARD), water=water)).of("run_off")
    assert row.value == 0.0


def drained(hours: int, **flows: tuple[int, float]) -> float:
    """What ran off within a year out of the wool, of flows that begin at an hour [kg/(m²·h)]."""
    layers = (CLADDING._replace(cells=1), OSB._replace(cells=1), WOOL._replace(cells=1))
    flow = np.zeros((hours + 1, 3))
    for start, rate in flows.values():
        flow[start : start + 200, 2] = rate / 3600.0
    ds = record(layers, hours=hours).assign(layer_source=(("time", "layer"), flow))
    (row,) = verdict(ds, skip_days=0).of("drained_inside")
    return float(row.value)


def test_what_ran_off_is_that_of_one_year_and_what_comes_in_takes_none_of_it_back() -> None:
    # 200 h of 1 g/(m²·h) are 0.2 kg/m²
    lost, gained = -1e-3, 1e-3
    assert drained(YEAR, a=(100, lost), b=(1000, gained), c=(2000, lost)) == pytest.approx(0.4)
    assert drained(2 * YEAR, a=(100, lost), b=(YEAR + 400, lost)) == pytest.approx(0.2)
    assert drained(2 * YEAR, a=(100, lost), b=(YEAR - 400, lost)) == pytest.approx(0.4)


def test_metal_is_judged_by_its_fin_where_it_is_one() -> None:
    faces = np.full((3, 2), 288.15)
    faces[0] = 263.15
    rh = np.full((3, 2), float(saturation(265.15) / saturation(288.15)))
    ds, *_ = crossed(face_temperature=faces, face_rh=rh)
    (rated,) = metal_ratings(ds)
    # the air has its frost point at −8 °C: between the bound, near the outer face, and the fin
    assert rated.bound.lowest < 264.15 < 265.65 < rated.rated.lowest
    assert rated.bound.below_dew_point.hours == 240
    (row,) = verdict(ds, sheathing="board").of("metal_dew_hours")
    assert row.value == 0.0


def test_leaked_air_is_counted_either_way_and_rain_is_none_of_it() -> None:
    ds = record(hours=240)
    rates, through = np.zeros((241, 2)), np.zeros(241)
    rates[1:, 0] = 1e-3  # rain
    rates[10:20, 1], rates[30:40, 1] = 1e-4, -1e-4
    through[50:55] = -2e-4
    given = ds.assign(source_rate=(("time", "source"), rates), air_flow=("time", through))
    leaks = [RainLeak("sheathing"), AirLeak("sheathing", permeance=1e-5)]
    given.attrs["wall"] = json.dumps(as_plain(frame(leaks=leaks)))
    # 20 h of 1e-4 and 5 h of 2e-4 m³/(s·m²)
    assert leaked_air(given) == pytest.approx(3600.0 * (20 * 1e-4 + 5 * 2e-4))
