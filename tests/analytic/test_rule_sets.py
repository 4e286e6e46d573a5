"""One record judged by rules of several names; the monthly method against its formulas by hand."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
import xarray as xr
from assess_records import BOARD, CLADDING, OSB, WALL, L, record, saturation
from case_files import write_case
from real_walls import plain
from typer.testing import CliRunner

from hygro.assess import CRITERIA, RULE_SETS, mould, verdict
from hygro.case import CaseError, judge_stored, load
from hygro.cli import app
from hygro.declare import plain as as_plain
from hygro.errors import InputError
from hygro.material.library import get
from hygro.wall.elements import Layer, Membrane
from hygro.wall.wall import Wall

YEAR = 8760
SECONDS = 365 * 86400.0


def test_the_same_record_is_judged_by_every_rule_set() -> None:
    ds = record(water=110.0, hours=YEAR)  # 18.3 % by mass
    keys = {
        name: {f.criterion.key for f in verdict(ds, criteria=name).findings if f.hard}
        for name in RULE_SETS
    }
    assert keys["ashrae-160"] == {"mould_160"}  # wood on wood: no metal
    assert keys["en-15026"] == {"wood_content"}  # one year: no accumulation; wood: no condensate
    assert keys["iso-13788"] == {"f_rsi", "monthly_condensate", "monthly_left"}
    assert {"mould_index", "mc_30d", "mc_24h", "drying"} <= keys["default"]
    assert verdict(ds, criteria="default").findings == verdict(ds, criteria=CRITERIA).findings


def test_a_verdict_by_named_rules_says_what_they_ask_beside() -> None:
    found = verdict(record(), criteria="ashrae-160")
    assert found.notes[0].startswith("rules 'ashrae-160': ")
    assert "10 % year" in found.notes[0]
    with pytest.raises(InputError, match=r"rules 'ashrae160': unknown.*did you mean 'ashrae-160'"):
        verdict(record(), criteria="ashrae160")


def humid() -> xr.Dataset:
    faces = np.full((5, 2), 0.5)
    faces[2, 0] = 0.92
    return record(hours=24 * 120, face_rh=faces)


@pytest.mark.parametrize(
    ("model", "words"),
    [
        ("ojanen2010", "Ojanen et al. 2010, decline 0.1"),
        ("hukka1999", "Hukka & Viitanen 1999, decline 1"),
    ],
)
def test_the_model_named_is_the_model_computed_and_that_of_the_standard_stands_beside(
    model: str, words: str
) -> None:
    ds = humid()
    found = verdict(ds, mould_model=model)
    (chosen,) = [f for f in found.of("mould_index") if f.place == "osb, inner face"]
    (standard,) = [f for f in found.of("mould_160") if f.place == "osb, inner face"]
    assert words in chosen.reason
    assert "ASHRAE 160 addendum e, decline 0.1" in standard.reason
    for row, name in ((chosen, model), (standard, "ashrae160e")):
        index = mould(ds, model=name).sel(surface="osb, inner face")
        assert row.value == float(index.max())
    assert chosen.value != standard.value
    assert (chosen.hard, standard.hard) == (True, False)
    given = verdict(ds, decline=0.5).of("mould_index")[0]
    assert "decline 0.5" in given.reason


def test_the_surface_that_faces_the_room_may_show_less_mould() -> None:
    limits = {f.place: f.limit for f in verdict(record()).of("mould_index")}
    assert limits["board, inner face"] == 1.0
    assert limits["board, outer face"] == limits["osb, inner face"] == 3.0


@pytest.mark.parametrize(
    ("inside", "limit"),
    [("latex-paint", 1.0), ("polyethylene-150um", 3.0), (None, 1.0)],
)
def test_a_face_behind_a_tight_sheet_is_hidden_from_the_room(inside, limit: float) -> None:
    front, board = (Layer(plain(0.2), 0.0125, name=key) for key in ("cladding", "board"))
    sheet = () if inside is None else (Membrane(get(inside), name="inside"),)
    stored = json.dumps(as_plain(Wall("w", (front, board, *sheet))))
    ds = record((CLADDING, BOARD)).assign_attrs(wall=stored)
    limits = {f.place: f.limit for f in verdict(ds).of("mould_index")}
    assert limits["board, inner face"] == limit


def test_wood_by_din_is_eighteen_per_cent_in_panels_and_twenty_in_solid_wood() -> None:
    timber = L("timber", 0.10, 450.0, wood=1)
    layers = (CLADDING, OSB, timber, BOARD)
    content = np.repeat([0.10 * 1800, 0.19 * 600, 0.19 * 450, 70.0], 4)
    rows = {
        f.place: f for f in verdict(record(layers, water=content), criteria="en-15026").findings
    }
    assert (rows["osb"].limit, rows["osb"].passed) == (0.18, False)
    assert (rows["timber"].limit, rows["timber"].passed) == (0.20, True)


def hand(p_i: float, *, outer: float = 2e-11) -> xr.Dataset:
    """Outdoors 0 °C and 500 Pa, indoors 20 °C, all year; R 0.02 outside of R 2."""
    wall = Wall("w", (
        Layer(plain(0.5, outer), 0.01, name="skin"), Layer(plain(0.04), 0.08, name="insulation"),
    ))  # fmt: skip
    layers = (L("skin", 0.01, 100.0, cells=2), L("insulation", 0.08, 100.0, cells=2))
    ds = record(layers, hours=YEAR, indoor=(293.15, p_i))
    return ds.assign_attrs(wall=json.dumps(as_plain(wall)))


def rows(ds: xr.Dataset) -> dict[str, object]:
    found = verdict(ds, criteria="iso-13788", sheathing="skin")
    return {f.criterion.key: f for f in found.findings}


@pytest.mark.parametrize(("celsius", "passed"), [(10.0, True), (18.0, False)])
def test_surface_factor_is_that_of_the_wall_and_of_the_month(celsius: float, passed: bool) -> None:
    found = rows(hand(0.8 * float(saturation(273.15 + celsius))))["f_rsi"]
    # R 0.04 + 0.02 + 2 and 0.25 inside; 80 % RH at that temperature
    assert found.limit == pytest.approx(1.0 - 0.25 / 2.31)
    assert found.value == pytest.approx(celsius / 20.0, abs=1e-6)
    assert found.passed is passed


def test_condensate_of_constant_months_is_that_of_the_formula_and_stays() -> None:
    p_i, p_o = 1400.0, 500.0
    found = rows(hand(p_i, outer=1e-13))
    # isothermal planes: 0.06 of 2.19 m²·K/W outside of the interface, 20 K across
    p_c = float(saturation(273.15 + 20.0 * 0.06 / 2.19))
    Z_o, Z_i = 0.01 / 1e-13, 0.08 / 2e-11
    year = ((p_i - p_c) / Z_i - (p_c - p_o) / Z_o) * SECONDS
    assert found["monthly_condensate"].value == pytest.approx(year, rel=1e-6)
    assert found["monthly_condensate"].passed is False
    # it condenses all year: what is left at the end is all of it
    assert found["monthly_left"].value == pytest.approx(year, rel=1e-6)
    assert found["monthly_left"].passed is False


def test_a_wall_open_outside_does_not_condense() -> None:
    found = rows(hand(900.0, outer=1.9e-10))
    assert found["monthly_condensate"].value == 0.0
    assert "no month condenses" in found["monthly_condensate"].reason
    assert found["monthly_left"].passed is True


def test_what_the_monthly_method_cannot_do_is_said() -> None:
    bare = record(WALL, hours=YEAR)
    short = hand(1000.0).isel(time=slice(0, 800))
    for ds, words in ((bare, "does not hold its wall"), (short, "shorter than a year")):
        found = verdict(ds, criteria="iso-13788", sheathing=str(ds["layer_name"].values[0]))
        assert found.outcome == "not judged"
        assert all(words in f.reason for f in found.findings)


def test_a_case_names_its_rules_and_may_change_them(tmp_path: Path) -> None:
    named = write_case(tmp_path, ("[settings]", '[criteria]\nrules = "iso-13788"\n[settings]'))
    answer = CliRunner().invoke(app, ["compare", str(named), "--json", "--processes", "1"])
    assert answer.exit_code == 0, answer.output
    for wall in json.loads(answer.stdout):
        told = wall["runs"][0]["verdict"]
        assert {f["criterion"] for f in told["findings"]} == {
            "f_rsi", "monthly_condensate", "monthly_left",
        }  # fmt: skip
        assert told["notes"][0].startswith("rules 'iso-13788'")
    changed = (
        '[criteria]\nrules = "en-15026"\n[criteria.change.wood_content]\nlimit = 0.16\n[settings]'
    )
    rows_of = load(write_case(tmp_path, ("[settings]", changed))).criteria
    assert {row.key: row.limit for row in rows_of}["wood_content"] == 0.16
    with pytest.raises(CaseError, match="rules"):
        load(write_case(tmp_path, ("[settings]", '[criteria]\nrules = "iso"\n[settings]')))


def test_show_judges_a_saved_record_by_other_rules(tmp_path: Path) -> None:
    found = judge_stored(hand(1400.0, outer=1e-13), rules="iso-13788", sheathing="skin")
    assert {f.criterion.key for f in found.failed} == {"monthly_condensate", "monthly_left"}
    case = write_case(tmp_path)
    out = tmp_path / "x.nc"
    run = CliRunner().invoke(app, ["run", str(case), "--wall", "plain", "--out", str(out)])
    assert run.exit_code == 0, run.output
    command = ["show", str(tmp_path / "x-service.nc"), "--rules", "iso-13788"]
    answer = CliRunner().invoke(app, command)
    assert answer.exit_code == 0, answer.output
    assert "rules 'iso-13788'" in " ".join(answer.output.split())
    assert "f_Rsi" in answer.output
