"""Ratings of hand-made results with answers worked out by hand."""

from __future__ import annotations

import json

import numpy as np
import pytest
from assess_records import CLADDING, OSB, START, L, record, saturation

import hygro
from hygro.assess import (
    condensate,
    corrosion,
    days_to_dry,
    decay,
    decay_dose,
    face_condensation,
    face_formed,
    formed,
    formed_per_year,
    forming,
    free_water,
    freeze_thaw,
    hours_above,
    interface_condensation,
    moisture_content,
    mould,
    run_off,
    running,
    surface_humidity,
    surfaces,
    yearly_balance,
)
from hygro.declare import plain

ROUNDING = 1e-12


def test_moisture_content_is_water_over_dry_mass():
    content = moisture_content(record(), "osb")
    assert content.values == pytest.approx(0.10, abs=ROUNDING)
    assert content.attrs["units"] == "1"
    assert "osb" in content.attrs["long_name"]


def test_outer_millimetres_weigh_the_cells_they_cut():
    # OSB 12 mm in 4 cells of 3 mm, density 600: cells hold 60, 120, 180, 240 kg/m³
    water = np.zeros(16)
    water[4:8] = [60.0, 120.0, 180.0, 240.0]
    ds = record(water=water)
    # outer 4 mm: 3 mm at 10 %, 1 mm at 20 %; inner 4 mm: 3 mm at 40 %, 1 mm at 30 %
    assert moisture_content(ds, "osb", ("outer", 0.004)).values[0] == pytest.approx(0.125)
    assert moisture_content(ds, "osb", ("inner", 0.004)).values[0] == pytest.approx(0.375)
    assert moisture_content(ds, "osb", ("outer", 0.012)).values[0] == pytest.approx(0.25)
    assert moisture_content(ds, "osb").values[0] == pytest.approx(0.25)


def test_hours_above_count_runs_and_respect_the_gate():
    wet = np.full(961, 60.0)
    wet[10:20], wet[50:53] = 150.0, 150.0
    cold = np.full(961, 293.15)
    cold[12:15] = 270.0
    ds = record(water=wet, temperature=cold, face_temperature=280.0)
    free = hours_above(ds, "osb", 0.20)
    assert (free.hours, free.longest, free.began) == (13, 10, START + np.timedelta64(10, "h"))
    gated = hours_above(ds, "osb", 0.20, warmer_than=278.15)
    assert (gated.hours, gated.longest) == (10, 5)
    assert hours_above(ds, "osb", 0.25).hours == 0  # the limit itself is not above


def test_the_initial_state_ends_no_hour():
    wet = np.full(961, 60.0)
    wet[:3] = 150.0
    assert hours_above(record(water=wet), "osb", 0.20).hours == 2


def test_running_means_of_a_ramp_lag_half_the_window():
    ramp = 60.0 + 0.06 * np.arange(961)
    content = moisture_content(record(water=ramp), "osb")
    month = running(content, 720)
    # mean of the last 720 instants of a line is its value 359.5 h before
    assert month.values[720] == pytest.approx(0.10 + 1e-4 * (720 - 359.5), abs=ROUNDING)
    assert np.isnan(month.values[:719]).all()
    assert "720 h running mean" in month.attrs["long_name"]
    assert month.attrs["units"] == "1"


def test_drying_is_the_last_fall_below_the_limit():
    wet = np.full(961, 60.0)
    wet[:240], wet[300:348] = 180.0, 130.0  # wets again above 20 % until hour 347
    ds = record(water=wet)
    assert days_to_dry(ds, "osb", 0.20) == pytest.approx(348 / 24)
    assert days_to_dry(ds, "osb", 0.20, start="2030-10-11") == pytest.approx((348 - 240) / 24)
    assert days_to_dry(ds, "osb", 0.20, start="2030-10-20") == 0.0
    assert days_to_dry(ds, "osb", 0.05) is None


def test_each_layer_meets_its_interfaces_on_the_right_side():
    found = {s.name: (s.interface, s.side) for s in surfaces(record())}
    assert found["cladding, outer face"] == (0, 1)
    assert found["osb, outer face"] == (1, 1)
    assert found["osb, inner face"] == (2, 0)
    assert found["board, inner face"] == (4, 0)


def test_mould_is_rated_where_a_layer_has_a_class_with_the_state_of_its_own_side():
    humid = np.full((5, 2), 0.5)
    humid[2, 0] = 0.97  # only the OSB's inner face is humid, not the wool's outer face
    index = mould(record(face_rh=humid, hours=28 * 24))
    assert index["surface"].values.tolist() == [
        "osb, outer face",
        "osb, inner face",
        "wool, outer face",
        "wool, inner face",
        "board, outer face",
        "board, inner face",
    ]
    last = index.isel(time=-1)
    # class sensitive, 20 °C, 97 %, 4 weeks: 1.373, computed from the printed equations
    assert float(last.sel(surface="osb, inner face")) == pytest.approx(1.373, abs=0.0005)
    assert float(last.sum()) == pytest.approx(1.373, abs=0.0005)
    assert index.attrs["units"] == "1"


def test_thirty_day_rule_counts_only_windows_between_5_and_40_degrees():
    hours = 24 * 100
    humid = np.full(hours + 1, 0.70)
    humid[: 24 * 50] = 0.90
    cold = np.full(hours + 1, 293.15)
    cold[: 24 * 50] = 268.15
    ds = record(hours=hours, face_rh=humid, face_temperature=cold)
    rated = surface_humidity(ds, "osb", "inner")
    assert rated.month_any.value == pytest.approx(0.90)
    # the mean temperature is 5 °C with 2/5 of the window warm: 288 of 720 h; humidity then is
    # (432 * 0.9 + 288 * 0.7) / 720 = 0.82
    assert rated.month.value == pytest.approx(0.82)
    assert rated.month.when == START + np.timedelta64(24 * 50 - 1 + 288, "h")


def test_corrosion_hours_leave_out_frost():
    humid = np.full(961, 0.5)
    humid[1:101], humid[200:210] = 0.85, 0.97
    cold = np.full(961, 280.0)
    cold[1:41] = 270.0
    ds = record(face_rh=humid, face_temperature=cold)
    rated = corrosion(ds, "osb", "outer")
    assert (rated.above_80.hours, rated.above_95.hours) == (70, 10)
    # the window that ends at hour 720 holds 100 h at 0.85, 10 h at 0.97, the rest at 0.5
    wettest = (100 * 0.85 + 10 * 0.97 + 610 * 0.5) / 720
    assert rated.month.value == pytest.approx(wettest)


def test_condensation_hours_and_hours_below_the_indoor_dew_point_are_apart():
    humid = np.full(961, 0.5)
    humid[100:130] = 1.0
    # indoor vapour pressure equals saturation at 5 °C: a face at 5 °C or below is below it
    cool = np.full(961, 283.15)
    cool[200:250] = 278.15
    ds = record(
        face_rh=humid, face_temperature=cool, indoor=(293.15, float(saturation(278.15)) + 1e-9)
    )
    rated = face_condensation(ds, "osb", "inner")
    assert rated.interface == "osb | wool"
    assert (rated.condensing.hours, rated.condensing.longest) == (30, 30)
    assert rated.below_indoor_dew_point.hours == 50
    assert interface_condensation(ds, "osb | wool") == rated


def test_below_freezing_the_dew_point_is_the_frost_point():
    # over ice at -10 °C saturation is 259.3 Pa, over water about 286 Pa: 270 Pa of indoor vapour
    # condenses on ice only
    ds = record(face_temperature=263.15, indoor=(293.15, 270.0))
    assert face_condensation(ds, "osb", "inner").below_indoor_dew_point.hours == 960


def test_condensate_is_the_water_beyond_sorption_near_the_interface():
    # osb cells of 3 mm: sorbed 100 kg/m³, wetted to 150; wool cells of 35 mm: 1, then 11
    water = np.full((961, 16), 10.0)
    water[:, 4:8], water[:, 8:12] = 100.0, 1.0
    water[500, 7:9] = 150.0, 11.0
    mass = condensate(record(water=water), "osb | wool", near=0.010)
    # 3 mm of OSB hold 50 more, 10 mm of wool hold 10 more
    assert mass.values[500] == pytest.approx(0.003 * 50 + 0.010 * 10)
    assert mass.values[499] == pytest.approx(0.0, abs=ROUNDING)
    assert mass.attrs["units"] == "kg m-2"


def _wetting_wool(water_of_wool):
    """OSB that wets from hour 300 on beside wool whose outer cell (35 mm) holds some water."""
    water = np.full((961, 16), 10.0)
    water[:, 4:8], water[:, 8:12] = 100.0, 1.0
    water[300:, 7] = 150.0
    for hour, kept in water_of_wool.items():
        water[hour:, 8] = kept
    return record(water=water)


def test_condensate_formed_is_what_the_water_rises_by_hour_by_hour():
    # 10 mm of wool: 1 to 3, to 2, to 5 kg/m³ is +20 g, -10 g, +30 g/m²
    ds = _wetting_wool({100: 3.0, 101: 2.0, 102: 5.0})
    mass = formed(ds, "osb | wool")
    assert mass.values[[99, 100, 101, 102, 103]] == pytest.approx([0, 0.02, 0, 0.03, 0])
    # wood takes its water up: it forms nothing
    assert float(mass.sum()) == pytest.approx(0.05)
    assert (forming(mass).hours, forming(mass).longest) == (2, 1)
    assert formed_per_year(mass) == pytest.approx(0.05)  # shorter than a year: the whole
    assert face_formed(ds, "wool", "outer").identical(mass)


def test_condensate_that_ran_off_has_formed_at_the_wetter_face():
    ds = _wetting_wool({100: 3.0})
    source = np.zeros((961, 4))
    source[200, 2] = -1e-6  # 3.6 g/m² leave the wool
    ds["layer_source"] = (("time", "layer"), source)
    assert formed(ds, "osb | wool").values[200] == pytest.approx(3.6e-3)
    assert formed(ds, "wool | board").values[200] == pytest.approx(0.0, abs=ROUNDING)


def test_what_leaking_air_takes_up_has_not_formed():
    ds = _wetting_wool({100: 3.0})
    source, taken = np.zeros((961, 4)), np.zeros(961)
    source[200, 2] = taken[200] = -1e-6  # the air dries the wool by 3.6 g/m²
    source[300, 2], taken[300] = -1e-6, 1e-6  # it drops 3.6 g/m², and 7.2 g/m² run off
    ds["layer_source"] = (("time", "layer"), source)
    ds["leak_vapour"] = ("time", taken, ds["leak_vapour"].attrs)
    materials = ("fibre-cement", "osb", "glass-wool-batt", "gypsum-board")
    layers = [
        hygro.Layer(material, "20 mm", name=name)
        for material, name in zip(materials, ("cladding", "osb", "wool", "board"), strict=True)
    ]
    wall = hygro.Wall("leaking", layers, leaks=hygro.AirLeak("wool", rate=1e-5))
    ds.attrs["wall"] = json.dumps(plain(wall))
    assert formed(ds, "osb | wool").values[[200, 300]] == pytest.approx([0.0, 7.2e-3], abs=ROUNDING)


def test_a_trickle_is_no_hour_of_condensation():
    # 0.09 and 0.11 g/m² in an hour, on either side of the 0.1 g/m² that count
    mass = formed(_wetting_wool({100: 1.009, 200: 1.020}), "osb | wool")
    assert mass.values[[100, 200]] == pytest.approx([0.9e-4, 1.1e-4])
    assert forming(mass).hours == 1


def test_free_water_is_what_exceeds_free_saturation():
    water = np.full((961, 16), 10.0)
    water[500, 8] = 330.0  # wool, w_free 300
    mass = free_water(record(water=water), "osb | wool", near=0.010)
    assert mass.values[500] == pytest.approx(0.010 * 30)
    assert mass.values.sum() == pytest.approx(0.010 * 30)


def test_yearly_balance_gives_change_by_layer_and_the_trend():
    years = 3
    hours = 8760 * years
    water = np.zeros((hours + 1, 2))
    marks = np.arange(hours + 1) / 8760
    # layer a dries by 5 kg/m³ in the first year only; layer b gains 2 kg/m³ every year
    water[:, 0] = 20.0 - 5.0 * np.minimum(marks, 1.0)
    water[:, 1] = 40.0 + 2.0 * marks
    layers = (L("a", 0.1, 1000.0, cells=1), L("b", 0.05, 500.0, cells=1))
    leak = 1e-8
    ds = record(layers, hours=hours, water=water, flows={"leak_rain": leak})
    balance = yearly_balance(ds)
    assert balance.years == 3
    assert balance.total.values == pytest.approx([4.0, 3.6, 3.7, 3.8])
    assert balance.change.values == pytest.approx([-0.4, 0.1, 0.1])
    assert balance.layer_change.sel(layer="b").values == pytest.approx([0.1, 0.1, 0.1])
    assert balance.trend == pytest.approx(0.1)
    assert balance.flows["leak_rain"].values == pytest.approx([leak * 3600 * 8760] * 3)


def test_freeze_thaw_counts_wet_passes_only():
    hours = 24 * 20
    t = 273.15 - 6.0 * np.sin(2 * np.pi * np.arange(hours + 1) / 24)
    water = np.full((hours + 1, 4), 100.0)
    water[24 * 15 :, 0] = 280.0  # outer cell nearly full (w_max 300) in the last five days
    ds = record((CLADDING,), hours=hours, temperature=t, face_temperature=t, water=water)
    rated = freeze_thaw(ds, "cladding", saturation=0.8)
    assert (rated.cycles, rated.all_cycles) == (5, 20)
    assert rated.depth == pytest.approx(0.0025)
    assert rated.highest_saturation == pytest.approx(280 / 300)
    assert freeze_thaw(ds, "cladding", ("inner", 0.010), saturation=0.8).cycles == 0


def test_flutter_around_one_limit_is_one_freeze():
    celsius = np.full(49, 5.0)
    celsius[2:8] = [-3.0, -1.0, -3.0, -0.5, -3.0, 1.0]
    celsius[20] = -2.0
    t = celsius + 273.15
    ds = record((CLADDING,), hours=48, temperature=t, face_temperature=t, water=290.0)
    assert freeze_thaw(ds, "cladding", saturation=0.8).cycles == 2


def test_supercooled_water_without_ice_is_no_freeze():
    t = 273.15 - 6.0 * np.sin(2 * np.pi * np.arange(49) / 24)
    ice = np.where(np.arange(49) >= 24, 20.0, 0.0)
    options = {"hours": 48, "temperature": t, "face_temperature": t, "water": 290.0}
    dry = record((CLADDING,), **options)
    assert freeze_thaw(dry, "cladding", saturation=0.8).cycles == 2
    rated = freeze_thaw(record((CLADDING,), ice=ice, **options), "cladding", saturation=0.8)
    assert rated.cycles == 1
    assert rated.ice == pytest.approx(0.02 * 20.0)


def test_decay_finds_the_wet_cell():
    rh = np.full(16, 0.8)
    rh[6] = 0.97
    rated = decay(record(rh=rh), "osb")
    # 20 °C, 97 %: begins after 24.0 d, computed from the equation; found to the hour
    first = np.flatnonzero(rated.activation.values >= 1.0)[0]
    assert first / 24 == pytest.approx(24.0, abs=0.05 + 1 / 24)
    assert rated.depth == pytest.approx(0.02 + 2.5 * 0.003)
    assert decay(record(rh=rh), "osb", ("outer", 0.006)).activation.values.max() == 0.0


def test_decay_dose_adds_up_days():
    ds = record(water=0.30 * 600.0, temperature=288.15)
    dose = decay_dose(ds, "osb", simplified=True)
    # 30 %: 1; 15 °C: 0.5; 40 days
    assert dose.values[[0, -1]] == pytest.approx([0.5, 20.0])
    assert dose["day"].values[0] == START + np.timedelta64(24, "h")


def test_run_off_sums_hours():
    ds = record(flows={"rain_incident": 2e-6, "rain_runoff": 1e-6, "drained": 5e-7})
    total = run_off(ds)
    # 960 h of 3600 s
    assert total.rain_incident == pytest.approx(2e-6 * 3.456e6)
    assert total.rain_runoff == pytest.approx(3.456)
    assert total.drained == pytest.approx(1.728)
    assert total.leak_rain == 0.0


def test_a_gap_lies_between_the_two_sides_of_its_interface():
    # 25 mm of air behind the cladding push the OSB inward; the interface stands at its outer face
    water = np.full(8, 10.0)
    water[3:5] = 260.0  # inner cell of the cladding 5 mm, outer cell of the OSB 3 mm
    ds = record((CLADDING._replace(w_free=200.0), OSB._replace(w_free=250.0)), water=water)
    shift = np.where(ds["cell_layer"] == 1, 0.025, 0.0)
    ds = ds.assign_coords(
        cell_depth=ds["cell_depth"] + shift,
        interface_depth=("interface", [0.0, 0.020, 0.057]),
    )
    found = {s.name: (s.interface, s.side) for s in surfaces(ds)}
    assert found["cladding, inner face"] == (1, 0)
    assert found["osb, outer face"] == (1, 1)
    assert found["osb, inner face"] == (2, 0)
    mass = free_water(ds, "cladding | osb", near=0.010)
    assert mass.values == pytest.approx(0.005 * 60 + 0.003 * 10)


def test_interfaces_at_one_depth_are_told_apart_by_order():
    # a gap without depth: the cladding meets the first of two interfaces, the OSB the second
    ds = record((CLADDING, OSB))
    twice = ds.isel(interface=[0, 1, 1, 2])
    found = {s.name: s.interface for s in surfaces(twice)}
    assert found["cladding, inner face"] == 1
    assert found["osb, outer face"] == 2
