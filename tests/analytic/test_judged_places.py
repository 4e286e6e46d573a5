"""Which layers and faces decide: wood behind the cladding, metal at boards, never frost."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest
import xarray as xr
from assess_records import BOARD, CLADDING, GYPSUM, OSB, WOOL, L, record
from feature_walls import frame

from hygro.assess import verdict
from hygro.declare import plain
from hygro.room.models import Constant
from hygro.study.hand import hand_numbers
from hygro.wall.elements import Gap, Layer
from hygro.wall.interruptions import Framing

NAIL_BASE = L("nail base", 0.012, 600.0, wood=1, mould="sensitive")
FOAM = L("foam", 0.05, 30.0, absorbent=0)
SIDING = L("siding", 0.015, 500.0, wood=1, mould="very sensitive")


def gapped(ds: xr.Dataset, behind: str, inner: str) -> xr.Dataset:
    """The record with an air gap between two layers."""
    names = [
        f"{behind} | gap | {inner}" if name == f"{behind} | {inner}" else name
        for name in ds["interface_name"].values
    ]
    return ds.assign_coords(interface_name=("interface", names), gap_name=("gap", ["gap"]))


def water(layers: tuple[L, ...], **content: float) -> np.ndarray:
    """Water of every cell at a moisture content by mass; 10 % where not given."""
    shares = [content.get(x.name.replace(" ", "_"), 0.10) * x.density for x in layers]
    return np.repeat(shares, [x.cells for x in layers])


def hard(ds: xr.Dataset, key: str, **options: object) -> dict[str, bool]:
    return {f.place: f.hard for f in verdict(ds, **options).of(key)}


def test_a_wet_nail_base_behind_a_vented_cladding_fails_the_wall() -> None:
    layers = (CLADDING, NAIL_BASE, FOAM, OSB, WOOL, BOARD)
    ds = record(layers, water=water(layers, nail_base=0.218))
    ds = gapped(ds, "cladding", "nail base")
    found = verdict(ds, sheathing="osb")
    assert found.passed is False
    assert {(f.criterion.key, f.place) for f in found.failed} == {("mc_30d", "nail base")}
    assert found.failed[0].value == pytest.approx(0.218)
    assert hard(ds, "mould_index", sheathing="osb") == {
        "nail base, outer face": True,
        "nail base, inner face": True,
        "osb, outer face": True,
        "osb, inner face": True,
        "wool, outer face": True,
        "wool, inner face": True,
        "board, outer face": True,
        "board, inner face": True,
    }


def test_wood_in_front_of_the_gap_is_cladding_and_decides_nothing() -> None:
    layers = (SIDING, L("furring", 0.01, 450.0, wood=1), NAIL_BASE, OSB, BOARD)
    ds = gapped(record(layers), "furring", "nail base")
    assert hard(ds, "mc_30d", sheathing="osb") == {
        "siding": False, "furring": False, "nail base": True, "osb": True,
    }  # fmt: skip


def test_without_a_gap_the_outermost_layer_is_the_cladding() -> None:
    layers = (SIDING, NAIL_BASE, OSB, BOARD)
    assert hard(record(layers), "mc_30d", sheathing="osb") == {
        "siding": False, "nail base": True, "osb": True,
    }  # fmt: skip


def test_a_cladding_named_as_the_judged_layer_decides_with_a_gap_behind_it() -> None:
    layers = (SIDING, OSB, BOARD)
    ds = gapped(record(layers, water=water(layers, siding=0.25)), "siding", "osb")
    assert verdict(ds, sheathing="osb").passed is True
    found = verdict(ds, sheathing="siding")
    assert [(f.criterion.key, f.place) for f in found.failed] == [("mc_30d", "siding")]


def test_hand_numbers_of_a_cladding_before_a_vented_gap_are_those_of_outdoor_air() -> None:
    wall = frame(Gap("gap", 0.02, 100.0))
    stamps = np.datetime64("2001-01-01T01", "ns") + np.arange(8760) * np.timedelta64(1, "h")
    cold = {key: ("time", np.full(8760, value)) for key, value in
            (("temperature", 263.15), ("vapour_pressure", 200.0))}  # fmt: skip
    year = xr.Dataset(cold, coords={"time": stamps})
    found = hand_numbers(wall, year, Constant(293.15, 0.4), "cladding")
    assert found.outboard_share == 0.0
    assert found.face_temperature == pytest.approx(263.15)


def humid(layers: tuple[L, ...], rh: float, kelvin: float) -> xr.Dataset:
    """Inner face of the second layer at a humidity and a temperature."""
    face = np.full((len(layers) + 1, 2), 0.5)
    face[2, 0] = rh
    warmth = np.full((len(layers) + 1, 2), 293.15)
    warmth[2, 0] = kelvin
    return record(layers, face_rh=face, face_temperature=warmth)


STEEL_STUDS = (CLADDING, GYPSUM._replace(mould="none"), WOOL, BOARD)


def test_a_humid_gypsum_sheathing_fails_by_corrosion() -> None:
    found = verdict(humid(STEEL_STUDS, 0.85, 283.15))
    assert [(f.criterion.key, f.place) for f in found.failed] == [
        ("corrosion", "gypsum sheathing, inner face")
    ]
    assert found.failed[0].value == pytest.approx(0.85)
    assert verdict(humid(STEEL_STUDS, 0.79, 283.15)).passed is True


def test_corrosion_is_not_asked_below_five_degrees() -> None:
    found = verdict(humid(STEEL_STUDS, 0.95, 277.15))
    (inner,) = [f for f in found.of("corrosion") if f.place.endswith("inner face")]
    assert (inner.passed, inner.hard) == (None, False)
    assert "5-40 °C" in inner.reason
    assert found.passed is True


def test_masonry_and_wood_are_not_taken_for_a_board_on_steel() -> None:
    thick = L("concrete", 0.20, 2200.0)
    for layers in (
        (CLADDING, thick, BOARD),
        (CLADDING, OSB, WOOL, BOARD),
        (CLADDING, BOARD),  # the room behind it
    ):
        found = verdict(humid(layers, 0.85, 283.15), sheathing=layers[1].name)
        assert not any(f.hard for f in found.of("corrosion"))
        assert any("metal is not judged" in note for note in found.notes)
    notes = verdict(humid(STEEL_STUDS, 0.5, 293.15)).notes
    assert not any("metal" in note for note in notes)


def test_steel_framing_makes_any_sheathing_a_place_of_corrosion() -> None:
    ds = humid((CLADDING, OSB._replace(mould="none"), WOOL, BOARD), 0.85, 283.15)
    wall = frame()
    studs = Framing(0.1, conductivity=5.0)
    elements = tuple(
        replace(e, framing=studs) if isinstance(e, Layer) and e.name == "wool" else e
        for e in wall.layers
    )
    ds.attrs["wall"] = json.dumps(plain(replace(wall, layers=elements)))
    assert hard(ds, "corrosion")["osb, inner face"] is True


def test_condensate_may_be_more_where_both_layers_take_up_liquid() -> None:
    both = (CLADDING, GYPSUM, WOOL._replace(absorbent=1), BOARD)
    limits = [verdict(record(x)).of("condensate")[0].limit for x in (both, STEEL_STUDS)]
    assert limits == [1.0, 0.5]
    empty = gapped(record((CLADDING, GYPSUM, BOARD)), "gypsum sheathing", "board")
    assert verdict(empty).of("condensate")[0].limit == 1.0  # air behind: the board alone counts


def test_frost_is_counted_by_saturation_and_never_passed() -> None:
    hours = 240
    temperature = np.full(hours + 1, 283.15)
    for start in (24, 72, 120):
        temperature[start : start + 12] = 263.15
    content = np.full(hours + 1, 60.0)
    content[60:110] = 110.0  # 55 % of free saturation at the second of three freezes
    layers = (CLADDING, OSB, BOARD)
    ds = record(layers, hours=hours, temperature=temperature, water=content)
    rows = {f.place: f for f in verdict(ds).of("frost")}
    assert list(rows) == ["cladding"]  # free saturation 200 kg/m³
    row = rows["cladding"]
    assert (row.passed, row.hard, row.value) == (None, False, None)
    for words in ("3 above 25 %", "1 above 50 %", "0 above 90 %", "highest while frozen 55 %"):
        assert words in row.reason
