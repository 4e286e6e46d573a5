"""Frost by the critical saturation that a material states; corrosion by what metal bears.

Expected values by hand on records made by hand; ISO 9223:1992 time of wetness from memory.
"""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest
from assess_records import BOARD, CLADDING, GYPSUM, OSB, WOOL, L, record
from real_walls import STILL
from real_walls import plain as material

from hygro.assess import freeze_thaw, verdict
from hygro.assess.corrosivity import category
from hygro.declare import plain
from hygro.errors import InputError
from hygro.wall.elements import Layer
from hygro.wall.interruptions import Attachment, Framing
from hygro.wall.wall import Wall

YEAR = 8760


def frozen_three_times(wet: float, s_crit: float, w_free: float = 290.0) -> object:
    """Three nights at -10 °C; full pores hold 300 kg/m³; `wet` kg/m³ at the second and third."""
    hours = 240
    temperature = np.full(hours + 1, 283.15)
    for start in (24, 72, 120):
        temperature[start : start + 12] = 263.15
    content = np.full(hours + 1, 60.0)
    content[60:140] = wet
    layers = (CLADDING._replace(s_crit=s_crit, w_free=w_free), OSB, BOARD)
    return record(layers, hours=hours, temperature=temperature, water=content)


@pytest.mark.parametrize(
    ("wet", "cycles", "passed"), [(258.0, 2, False), (252.0, 0, True), (255.0, 2, False)]
)
def test_frost_counts_freezes_beyond_the_critical_saturation(wet, cycles, passed) -> None:
    # 258/300 = 0.86, 252/300 = 0.84, 255/300 = 0.85 against 0.85
    (row,) = verdict(frozen_three_times(wet, 0.85)).of("frost")
    assert (row.value, row.passed, row.hard) == (cycles, passed, False)
    for words in ("critical saturation 85 %", "3 freezes of the worst cell in all"):
        assert words in row.reason
    assert f"highest saturation while frozen {100 * wet / 300:.0f} %" in row.reason


def test_a_lower_critical_saturation_fails_what_a_higher_one_keeps() -> None:
    (low,), (high,) = (verdict(frozen_three_times(150.0, s)).of("frost") for s in (0.35, 0.85))
    assert (low.value, low.passed) == (2.0, False)
    assert (high.value, high.passed) == (0.0, True)


def test_without_a_stated_saturation_frost_is_told_and_never_kept() -> None:
    ds = frozen_three_times(290.0, float("nan"), 200.0)
    (row,) = verdict(ds).of("frost")
    assert (row.value, row.passed) == (None, None)
    assert "states no critical saturation" in row.reason
    assert "2 above 90 %" in row.reason  # 290 of 200 kg/m³ at free saturation
    with pytest.raises(InputError, match="s_crit"):
        freeze_thaw(ds, "cladding")
    older = ds.drop_vars("layer_s_crit")  # a record that does not hold it
    assert verdict(older).of("frost")[0].passed is None


def test_a_saturation_that_water_cannot_reach_is_no_pass() -> None:
    # free saturation 200 of 300 kg/m³: 67 %, critical 85 %: within by construction, so not judged
    (row,) = verdict(frozen_three_times(190.0, 0.85, 200.0)).of("frost")
    assert (row.value, row.passed) == (None, None)
    assert "lies above free saturation 67 %" in row.reason
    assert "2 above 90 %" in row.reason
    (beyond,) = verdict(frozen_three_times(260.0, 0.85, 200.0)).of("frost")  # overfilled: it counts
    assert (beyond.value, beyond.passed) == (2.0, False)


@pytest.mark.parametrize(
    ("hours", "found"),
    # τ1 and τ2 to 250 h: C1; τ3, τ4 to 5500 h: C3; τ5: C4 (clean air, the upper of two)
    [(0, 1), (10, 1), (250, 1), (251, 3), (2500, 3), (5500, 3), (5501, 4), (8760, 4)],
)
def test_category_follows_the_time_of_wetness(hours, found) -> None:
    assert category(hours) == found
    assert category(hours, ("neutral", "alkaline")) == found
    assert category(hours, ("neutral", "aggressive")) == found + (hours > 10)


def test_hours_of_more_than_a_year_are_refused() -> None:
    with pytest.raises(InputError, match="8784"):
        category(9000.0)


def studs(bears: str | None, touched: str = "neutral", wet: int = 1000) -> object:
    """Gypsum on steel studs, `wet` hours at 90 % and 10 °C at its inner face."""
    rh = np.full((YEAR + 1, 5, 2), 0.5)
    rh[100 : 100 + wet, 2, 0] = 0.9
    layers = (CLADDING, GYPSUM._replace(mould="none", metal=touched), WOOL, BOARD)
    ds = record(layers, hours=YEAR, face_rh=rh, face_temperature=283.15)
    framing = Framing(0.1, conductivity=5.0, corrosion_class=bears)
    wool = Layer(material(0.04), 0.14, name="wool", framing=framing)
    sheathing = Layer(material(0.2), 0.0125, name="gypsum sheathing")
    ds.attrs["wall"] = json.dumps(plain(Wall("w", (sheathing, wool), outside=STILL)))
    return ds


@pytest.mark.parametrize(
    ("bears", "touched", "wet", "value", "passed"),
    [
        ("C3", "neutral", 1000, 3.0, True),
        ("C2", "neutral", 1000, 3.0, False),
        ("C3", "aggressive", 1000, 4.0, False),  # damp gypsum, one category more
        ("C4", "aggressive", 1000, 4.0, True),
        ("C1", "neutral", 200, 1.0, True),
    ],
)
def test_steel_studs_are_judged_by_what_they_bear(bears, touched, wet, value, passed) -> None:
    (row,) = verdict(studs(bears, touched, wet)).of("corrosion_class")
    assert (row.value, row.passed, row.hard) == (value, passed, True)
    assert ("aggressive" in row.reason) == (touched == "aggressive")


def test_metal_of_unknown_class_is_told_and_not_judged() -> None:
    (row,) = verdict(studs(None)).of("corrosion_class")
    assert (row.value, row.passed, row.hard) == (None, None, False)
    assert "C3 there" in row.reason
    assert "states no corrosion_class" in row.reason
    (silent,) = verdict(studs("C3", "not stated")).of("corrosion_class")
    assert "states nothing of metal" in silent.reason


def test_a_fastener_is_judged_by_its_class_and_what_holds_it() -> None:
    """Screw held at the inner plane; 1000 of 8760 h at 90 % there: C3, in an acid wood C4."""
    screws = Attachment("screws", 0.4, 0.005, inner_conductance=100.0, corrosion_class="C3")
    insulation = Layer(material(0.035), 0.10, name="insulation", attachments=(screws,))
    acid = replace(material(0.13), key="cedar", corrosion_class="aggressive")
    rh = np.full((YEAR + 1, 3, 2), 0.5)
    rh[100:1100, 1] = 0.9
    found = []
    for held in (replace(material(0.13), corrosion_class="neutral"), acid):
        wall = Wall("w", (insulation, Layer(held, 0.012, name="board")), outside=STILL)
        layers = (L("insulation", 0.10, 100.0, absorbent=0), L("board", 0.012, 100.0, wood=1))
        ds = record(layers, hours=YEAR, face_rh=rh, face_temperature=283.15)
        ds.attrs["wall"] = json.dumps(plain(wall))
        rows = verdict(ds, sheathing="board").of("corrosion_class")
        (row,) = [row for row in rows if row.place.startswith("screws")]
        found.append((row.value, row.passed, row.hard))
    assert found == [(3.0, True, True), (4.0, False, True)]


def test_a_material_without_a_mould_class_is_taken_as_sensitive_and_says_so() -> None:
    hours = YEAR
    found = []
    for kind in ("not stated", "sensitive"):
        layers = (CLADDING, OSB._replace(mould=kind), BOARD)
        ds = record(layers, hours=hours, rh=0.97, temperature=293.15)
        found.append(next(r for r in verdict(ds).of("mould_index") if r.place.startswith("osb")))
    assert found[0].value == found[1].value
    assert found[0].value > 1.0
    assert "class sensitive (taken: the material states none)" in found[0].reason
    assert "taken" not in found[1].reason
