"""What a user's material file may get wrong, and what the message then says."""

from __future__ import annotations

import pytest

from hygro.declare import plain
from hygro.errors import InputError
from hygro.material import from_dict
from hygro.material.check import check
from hygro.material.library import get, library, load_file

GOOD = """
[board]
name = "Board"
group = "sheathing"
density = 600.0
heat_capacity = 1500.0
pore_volume = 0.55
absorbent = true
vapour = { form = "mu", mu = 50.0 }
thermal = { form = "constant", value = 0.13 }
liquid = { form = "absorption", a = 0.002, w_free = 400.0 }
[board.storage]
form = "table"
rh = [[0.5, 45.0], [0.8, 80.0]]
suction = [[1e5, 250.0]]
w_free = 400.0
"""
SHEET = """
[film]
kind = "sheet"
name = "Film"
group = "membrane"
permeance = { form = "perm", perm = 1.0 }
"""


def load(tmp_path, text):
    path = tmp_path / "own.toml"
    path.write_text(text, encoding="utf-8")
    return load_file(path)


def test_a_good_file_is_read(tmp_path):
    found = load(tmp_path, GOOD + SHEET)
    assert list(found) == ["board", "film"]
    assert found["board"].w_free == 400.0
    assert found["board"].mould_class is None  # not stated: nothing is taken in silence
    assert get("board", extra=found) is found["board"]


LIQUID = 'liquid = { form = "absorption", a = 0.002, w_free = 400.0 }'
STORAGE = "rh = [[0.5, 45.0], [0.8, 80.0]]\nsuction = [[1e5, 250.0]]"
K_FALLS = 'liquid = { form = "conductivity-table", points = [[0.0, -12.0], [50.0, -14.0]] }'
BAD = {
    "density in g/cm³": ("density = 600.0", "density = 0.6", "[board]", "density: 0.6", "g/cm³"),
    "negative density": ("density = 600.0", "density = -600.0", "density: -600", "1 to 9000"),
    "kJ": ("heat_capacity = 1500.0", "heat_capacity = 1.5", "heat_capacity: 1.5", "kJ"),
    "pores in percent": ("pore_volume = 0.55", "pore_volume = 55.0", "pore_volume: 55", "percent"),
    "pores against density": ("density = 600.0", "density = 3000.0", "pore_volume", "3000"),
    "w_free above pores": ("pore_volume = 0.55", "pore_volume = 0.3", "400", "1000·pore_volume"),
    "rh in percent": ("[0.8, 80.0]", "[80.0, 80.0]", "rh = 80", "0–1", "percent"),
    "rh out of order": ("[0.8, 80.0]", "[0.4, 80.0]", "0.4 after 0.5", "rise strictly"),
    "not monotone": ("[0.8, 80.0]", "[0.8, 40.0]", "w = 40", "rh = 0.8", "rise towards saturation"),
    "w_free too small": ("\nw_free = 400.0", "\nw_free = 70.0", "w = 70", "w_free"),
    "negative water": ("[0.5, 45.0]", "[0.5, -45.0]", "w = -45", "not be negative"),
    "flat": (STORAGE, "rh = [[0.5, 45.0], [0.8, 45.0]]", "flat", "moist-air"),
    "sorption in percent": (
        STORAGE,
        "rh = [[0.5, 300.0], [0.8, 350.0]]",
        "0.5833",
        "0.35 kg/kg",
        "percent",
    ),
    "dry suction": ("[1e5, 250.0]", "[5e8, 250.0]", "5e+08", "wetter than the last rh point"),
    "mu below 1": ("mu = 50.0", "mu = 0.5", "vapour.mu: 0.5", "1 to"),
    "milliwatts": ("value = 0.13", "value = 0.0013", "0.0013", "W/(m·K)"),
    "A per root hour": ("a = 0.002", "a = 12.0", "liquid.a: 12", "divided by 60"),
    "liquid disagrees": ("a = 0.002, w_free = 400.0", "a = 0.002, w_free = 300.0", "disagree"),
    "absorbent without liquid": (LIQUID, "", "absorbent: True", "liquid"),
    "falling K": (LIQUID, K_FALLS, "falling within", "allow_non_monotone"),
    "K not its log": (
        LIQUID,
        'liquid = { form = "conductivity-table", points = [[0.0, 1e-14], [50.0, 1e-12]] }',
        "liquid: 1:",
        "log10",
    ),
    "unknown key": ("heat_capacity =", "heat_capacty =", "capacty: unknown", "'heat_capacity'"),
    "unknown form": ('form = "mu"', 'form = "mu-drywet"', '"mu-drywet"', "'mu-dry-wet'"),
    "unknown form key": ("mu = 50.0", "mue = 50.0", "vapour.mue: unknown key", "'mu'"),
    "missing form": ('{ form = "mu", mu = 50.0 }', "{ mu = 50.0 }", "vapour", "form: missing"),
    "missing key": ("density = 600.0", "", "[board]", "density: missing"),
    "missing form key": ("a = 0.002, ", "", "liquid.a: missing"),
    "text for number": ("density = 600.0", 'density = "heavy"', "'heavy'", "must be a number"),
    "flag for number": ("density = 600.0", "density = true", "must be a number"),
    "infinite": ("density = 600.0", "density = inf", "must be a finite number"),
    "number for flag": ("absorbent = true", "absorbent = 1", "true or false"),
    "number for points": ("[[1e5, 250.0]]", "1e5", "list of [x, y] points"),
    "half a point": ("[[1e5, 250.0]]", "[[1e5]]", "not a point"),
    "number for table": ('{ form = "mu", mu = 50.0 }', "50.0", "vapour", "must be a table"),
    "mould class": ("absorbent", 'mould_class = "sensitve"\nabsorbent', "'sensitive'"),
    "kind": ("absorbent", 'kind = "foil"\nabsorbent', '"foil"', "sheet"),
    "air": ("absorbent", "air_permeability = 0.1\nabsorbent", "0.1", "m²/(Pa·s)"),
}  # fmt: skip


@pytest.mark.parametrize("case", BAD)
def test_a_bad_value_is_refused_with_place_bound_and_cause(tmp_path, case):
    old, new, *expected = BAD[case]
    assert old in GOOD  # the case must change the file
    with pytest.raises(InputError) as error:
        load(tmp_path, GOOD.replace(old, new))
    message = str(error.value)
    assert "own.toml, table [board]" in message
    for words in expected:
        assert words in message, message


BAD_SHEETS = {
    "zero perm": ("perm = 1.0", "perm = 0.0", "permeance.perm: 0"),
    "nanograms": (
        '{ form = "perm", perm = 1.0 }',
        '{ form = "permeance", value = 57.2 }',
        "ng/(m²·s·Pa)",
    ),
    "rh in percent": (
        '{ form = "perm", perm = 1.0 }',
        '{ form = "perm-table", points = [[25.0, 1.0], [75.0, 5.0]] }',
        "percent",
    ),
    "zero in table": (
        '{ form = "perm", perm = 1.0 }',
        '{ form = "perm-table", points = [[0.25, 0.0], [0.75, 5.0]] }',
        "must be positive",
    ),
    "a layer's key": ("group =", "density = 900.0\ngroup =", "density: unknown key"),
    "R in old units": ("group =", "thermal_resistance = 5.0\ngroup =", "ft²·h·°F/Btu"),
}


@pytest.mark.parametrize("case", BAD_SHEETS)
def test_a_bad_sheet_is_refused(tmp_path, case):
    old, new, words = BAD_SHEETS[case]
    assert old in SHEET
    with pytest.raises(InputError) as error:
        load(tmp_path, SHEET.replace(old, new))
    assert words in str(error.value)
    assert "[film]" in str(error.value)


@pytest.mark.parametrize(
    ("text", "words"), [("density = ", "not valid TOML"), ("board = 3", "must be a table")]
)
def test_a_file_that_is_no_table_of_materials_is_refused(tmp_path, text, words):
    with pytest.raises(InputError, match=words):
        load(tmp_path, text)


def test_a_missing_file_is_named(tmp_path):
    with pytest.raises(InputError, match=r"absent\.toml: cannot be read"):
        load_file(tmp_path / "absent.toml")


def test_an_unknown_key_is_answered_with_near_matches():
    with pytest.raises(InputError, match=r"did you mean .*'gypsum-board'"):
        get("gypsum-bord")


def test_a_temperature_in_celsius_is_suspected():
    data = plain(library()["polyiso"])
    data["thermal"] = {
        "form": "constant",
        "value": 0.023,
        "temperature_factor": [[-18.0, 1.7], [24.0, 1.0]],
    }
    with pytest.raises(InputError, match="is it in °C"):
        check(from_dict(data))


def test_a_falling_polynomial_is_refused_unless_a_reason_is_given():
    data = plain(library()["hamstad5-brick"])
    del data["liquid"]["allow_non_monotone"]
    with pytest.raises(InputError, match="falling within"):
        check(from_dict(data))
    data["liquid"]["allow_non_monotone"] = "as printed"
    assert check(from_dict(data)).key == "hamstad5-brick"


@pytest.mark.parametrize(
    ("storage", "words"),
    [
        # wood at 600 kg/m³ sorbs about 170 kg/m³ before the tail; less cannot be free saturation
        (
            {"form": "wood-sorption", "density": 600.0, "w_free": 100.0},
            "falling near rh",
        ),
        ({"form": "van-genuchten", "w_s": 400.0, "modes": [[1.0, 1e-5, 0.8]]}, "n above 1"),
        ({"form": "van-genuchten", "w_s": 400.0, "modes": [[1.0, 1e-5]]}, "[share, a, n]"),
        ({"form": "b-form", "w_free": 400.0, "b": 0.9}, "above 1"),
        # A3 of 1.2 puts the pole of the sorption form below saturation
        (
            {
                "form": "rational-sorption",
                "density": 600.0,
                "a1": 0.2,
                "a2": 1.0,
                "a3": 1.2,
                "w_free": 400.0,
            },
            "storage",
        ),
    ],
)
def test_parameters_that_bend_the_storage_curve_are_refused(storage, words):
    data = plain(library()["osb"]) | {"storage": storage}
    del data["liquid"]
    data["absorbent"] = False
    with pytest.raises(InputError) as error:
        check(from_dict(data))
    assert words in str(error.value)
