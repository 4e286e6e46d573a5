"""Absurd values are refused in a Python call and in a case file, in the same words."""

from __future__ import annotations

import math
import re
from pathlib import Path

import pytest
from two_doors import BATT, CLADDING, DOORS, GAP, PAINT, SHEATHING, as_in_a_file, both_answers

Row = tuple[str, dict[str, object], list[str]]
"""The door, the keys that are wrong, and the words that must tell value, bound and cause."""

OUTSIDE: list[Row] = [
    ("outside", {"absorptance": 60}, ["60", "0 to 1", 'in percent? write "60 %"']),
    ("outside", {"absorptance": "60"}, ['"60"', "0 to 1", 'in percent? write "60 %"']),
    ("outside", {"albedo": "400 %"}, ['"400 %"', "0 to 1", "fresh snow has 0.8"]),
    ("outside", {"emissivity": "400 %"}, ['"400 %"', "0 to 1", "the unit or the decimal point"]),
    ("outside", {"emissivity": 9}, ["9", "0 to 1", "in percent?"]),
    ("outside", {"albedo": 20}, ["20", "0 to 1", 'in percent? write "20 %"']),
    ("outside", {"convection": -4}, ["-4", "0 to 5000 W/(m2.K)", "sign"]),
    ("outside", {"vapour_coefficient": 25}, ["25", "0 to 0.001", "kg/(m²·s·Pa)"]),
    ("outside", {"rain": "ashrae"}, ["'ashrae'", "did you mean 'ashrae160'?"]),
    ("outside", {"absorptence": 0.6}, ["unknown key", "did you mean 'absorptance'"]),
    (
        "outside",
        {"rain_factors": {"terrain": "II", "height": 8}},
        ["another method than ashrae160", "exposure, deposition, height"],
    ),
    (
        "outside",
        {"rain": "iso15927", "rain_factors": {"exposure": 1.0}},
        ["another method than iso15927", "roughness"],
    ),
    ("outside", {"rain_factors": {"exposure": 100}}, ["100", "0 to 3", "seldom above 1.5"]),
    ("inside", {"coefficient": 0}, ["0", "must be above 0"]),
]

LAYER: list[Row] = [
    ("layer", {"thickness": 11}, ["11 m", "at most 1.5 m", 'in mm? write "11 mm"']),
    ("layer", {"thickness": 0}, ["0", "1e-05 to 100000 m"]),
    ("layer", {"thickness": -0.14}, ["-0.14", "1e-05 to 100000 m", "is the sign right?"]),
    ("layer", {"thickness": math.nan}, ["nan", "finite number"]),
    ("layer", {"thickness": math.inf}, ["inf", "finite number"]),
    ("layer", {"thickness": "thick"}, ["'thick'", "start with a number", '"10 mm"']),
    ("layer", {"thickness": "11,5 mm"}, ["'11,5 mm'", "decimals are written with a point"]),
    ("layer", {"thickness": "11 kg"}, ["'11 kg'", "'kg' is not a unit of length", "mm"]),
    ("layer", {"thickness": True}, ["True", "must be a number", '"10 mm"']),
    ("layer", {"thickness": None}, ["one of the keys 'thickness', 'resistance'", "none"]),
    (
        "layer",
        {"resistance": 3.0},
        ["one of the keys 'thickness', 'resistance'", "it has 'thickness', 'resistance'"],
    ),
    ("layer", {"thickness": None, "resistance": 0}, ["0", "0.0001 to 100 m2.K/W"]),
    ("layer", {"material": "glas-wool-bat"}, ["'glas-wool-bat'", "did you mean 'glass-wool-batt'"]),
    ("layer", {"material": "latex-paint"}, ["'latex-paint' is a sheet", "membrane"]),
    ("layer", {"thicknes": 0.1}, ["unknown key", "did you mean 'thickness'"]),
    ("layer", {"thick": "yes"}, ["'yes'", "true or false"]),
    ("sheet", {"membrane": "osb"}, ["'osb' is no sheet", "material"]),
    ("sheet", {"permeance": 1}, ["1", "1e-15 to 1e-06 kg/(m2.s.Pa)", 'write "1 perm"']),
    ("gap", {"depth": 20}, ["20", "0.001 to 0.3 m", 'in mm? write "20 mm"']),
    ("gap", {"emissivity_outer": 0}, ["0", "1e-06 to 1", "bright foil"]),
    ("gap", {"air_change": -5}, ["-5", "0 to 100000 1/h", "sign"]),
    ("gap", {"air_change": [1, 2]}, ["has 2 items", "at least 12"]),
    ("gap", {"film": 100.5}, ["100.5", "0 to 100 kg/m2", "g/m2"]),
    ("openings", {"blocked": 0.2}, ["0.2", "goes with friction = true"]),
    ("openings", {"area": 50}, ["50", "0 to 1 m2/m", "cm2/m"]),
    ("openings", {"discharge": 0}, ["0", "must be above 0"]),
]

INTERRUPTED: list[Row] = [
    ("joints", {"width": 3}, ["3", "0 to 0.1 m", 'in mm? write "3 mm"']),
    ("joints", {"width": 0.1, "spacing": 0.1}, ["0.1 m", "half of the spacing", "in mm?"]),
    ("joints", {"fill": "filled"}, ["missing", 'fill = "filled" needs it']),
    ("joints", {"layers": 3}, ["3", "1 or 2"]),
    ("joints", {"shrinkage": 0.5}, ["0.5", "0 to 0.1", 'in percent? write "0.5 %"']),
    ("girt", {"diameter": "5 mm"}, ["0.005", 'goes with kind = "point"']),
    ("screw", {"thickness": "1 mm"}, ["0.001", 'goes with kind = "line"']),
    ("screw", {"diameter": 5}, ["5", "0 to 0.1 m", 'in mm? write "5 mm"']),
    ("screw", {"spacing": 0.005, "diameter": 0.005}, ["0.785", "below 0.2", "in mm?"]),
    ("framing", {"fraction": 25, "conductivity": 50}, ["25", "0 to 1", 'write "25 %"']),
    ("framing", {"fraction": 0, "conductivity": 50}, ["0", "above 0 and below 1"]),
    (
        "framing",
        {"material": "softwood", "conductivity": 50},
        ["one of the keys 'material', 'conductivity'", "it has 'material', 'conductivity'"],
    ),
    ("framing", {}, ["one of the keys 'material', 'conductivity'", "it has none"]),
]

LEAKS: list[Row] = [
    ("rain leak", {"fraction": 5}, ["5", "0 to 1", 'in percent? write "5 %"']),
    ("rain leak", {"depth": 500}, ["500", "1e-05 to 100 m", 'in mm? write "500 mm"']),
    ("rain leak", {"face": "middle"}, ["'middle'", "'outer' or 'inner'"]),
    ("wetting", {"mass": -0.1}, ["-0.1", "0 to 100 kg/m2", "is the sign right?"]),
    ("wetting", {"mass": 500}, ["500", "0 to 100 kg/m2", 'in g/m2? write "500 g/m2"']),
    ("wetting", {"mass": None}, ["missing", "needed"]),
    ("air leak", {"rate": None}, ["one of the keys 'rate', 'permeance'", "it has none"]),
    ("air leak", {"permeance": 1e-5}, ["'rate', 'permeance'", "it has 'rate', 'permeance'"]),
    ("air leak", {"rate": -1e-4}, ["-0.0001", "0 to 0.1 m3/(s.m2)", "outward"]),
    ("air leak", {"rate": 0.5}, ["0.5", "0 to 0.1 m3/(s.m2)", 'write "0.5 L/(s.m2)"']),
    ("air leak", {"exponent": 65}, ["65", "0.5 to 1", "cracks"]),
    (
        "air leak",
        {"wind_coefficient": 0.5, "building_height": 8},
        ["0.5", "building_height", "one of them"],
    ),
]

WHOLE: list[Row] = [
    ("wall", {"layers": [SHEATHING, SHEATHING, BATT]}, ["two elements", "'sheathing'"]),
    ("wall", {"layers": [CLADDING, GAP, {**GAP, "gap": "other"}, BATT]}, ["touch", "'other'"]),
    ("wall", {"layers": [GAP, SHEATHING, BATT]}, ["'vented gap' is at a surface", "each side"]),
    ("wall", {"layers": []}, ["at least one layer"]),
    ("wall", {"layers": [{**PAINT}]}, ["at least one layer"]),
    (
        "wall",
        {"layers": [PAINT, BATT, SHEATHING, CLADDING]},
        ["'paint' stands outermost", "outside to inside", "turned round?"],
    ),
    (
        "wall",
        {"leaks": {"rain": {"at": "sheeting"}}},
        ["'sheeting'", "no such layer", "did you mean 'sheathing'?"],
    ),
    (
        "wall",
        {"leaks": {"wetting": {"at": "batt", "mass": 0.1, "depth": 5}}},
        ["5 m", "at most 0.14 m, all of 'batt'", "in mm?"],
    ),
    (
        "wall",
        {
            "layers": [CLADDING, GAP, {**SHEATHING, "thickness": 0.0002}, BATT],
            "leaks": {"rain": {"at": "sheathing"}},
        },
        ["0.001 m", "at most 0.0002 m, all of 'sheathing'", "thinner", "thickness right?"],
    ),
    (
        "wall",
        {
            "layers": [PAINT, BATT, SHEATHING, CLADDING],
            "sheathing": "sheathing",
            "leaks": {"rain": {"fraction": 0.01}},
        },
        ["'paint' stands outermost", "outside to inside", "turned round?"],
    ),
    (
        "wall",
        {"layers": [BATT, SHEATHING, GAP, CLADDING], "leaks": {"rain": {"fraction": 0.01}}},
        ["no membrane outward", "outside to inside"],
    ),
    ("wall", {"sheathing": "osb"}, ["'osb'", "no such layer", "known: batt, cladding, sheathing"]),
    ("wall", {"azimuth": 400}, ["400", "0 to 360 deg", "clockwise from north"]),
    ("wall", {"azimuth": "NNX"}, ["'NNX'", "must be one of N, NE", '"90 deg"']),
    ("wall", {"tilt": 200}, ["200", "0 to 180 deg", "90 is a wall"]),
    ("wall", {"air_flow": 5}, ["5", "-0.1 to 0.1 m3/(s.m2)", 'write "5 L/(s.m2)"']),
    ("wall", {"air_flow": [0.0, 5]}, ["5", "-0.1 to 0.1 m3/(s.m2)"]),
    (
        "wall",
        {"layers": [CLADDING, {**BATT, "wind_washing": {"depth": 20}}, SHEATHING]},
        ["20 m", "below the thickness 0.14 m", "in mm?"],
    ),
    ("initial", {"rh": 0}, ["0", "above 0", "no finite suction"]),
    ("initial", {"rh": 54}, ["54", "0 to 1", 'in percent? write "54 %"']),
    ("initial", {"moisture_content": 24}, ["24", "0 to 20", 'in percent? write "24 %"']),
    (
        "initial",
        {"unprotected": True, "moisture_content": 0.2},
        ["unprotected", "moisture_content = 0.2", "one of them"],
    ),
    (
        "initial",
        {"temperature": 5},
        ["5", "180 to 400 K", 'in degC or degF? write "5 degC" or "5 degF"'],
    ),
]

ROOM: list[Row] = [
    (
        "constant room",
        {"temperature": 21},
        ["21", "K", 'in degC or degF? write "21 degC" or "21 degF"'],
    ),
    ("constant room", {"rh": 45}, ["45", "0 to 1", 'in percent? write "45 %"']),
    ("constant room", {"rh": None}, ["missing", "needed"]),
    (
        "balance",
        {"humidify_to": 0.6, "dehumidify_to": 0.5},
        ["0.6", "0.5", "machines would fight"],
    ),
    ("balance", {"volume": 0}, ["0", "1 to 1e+07 m3"]),
    ("balance", {"air_change": -0.5}, ["-0.5", "0 to 100000 1/h", "is the sign right?"]),
    ("balance", {"air_change": [0.5, 1]}, ["2 values", "1, 24 or 168"]),
    ("balance", {"production": 10}, ["10", "0 to 0.1 kg/s", 'in kg/day? write "10 kg/day"']),
    ("balance", {"temperature": 21}, ["21", "K", 'in degC or degF? write "21 degC" or "21 degF"']),
    ("balance", {"temperature": "en15062"}, ["'en15062'", "did you mean 'en15026'?"]),
    ("rule", {"rule": "en15026_norml"}, ["'en15026_norml'", "did you mean 'en15026_normal'"]),
    ("rule", {"rule": "mine", "outdoor": [280.0]}, ["temperature", "missing"]),
    (
        "rule",
        {"rule": "mine", "temperature": 294, "outdoor": [290, 280], "rh": [0.4, 0.5]},
        ["outdoor must rise", "as long as rh"],
    ),
    ("excess", {"rule": "iso13788_class9"}, ["'iso13788_class9'", "'iso13788_class3'"]),
    ("excess", {"margin": 110}, ["110", "0.01 to 3", "1.10"]),
    ("preset", {"use": "dweling"}, ["'dweling'", "dwelling_normal"]),
]

SETTINGS: list[Row] = [
    ("settings", {"tolerance": 0}, ["0", "1e-06 to 100", "1 is the default"]),
    ("settings", {"accuracy": "drift"}, ["'drift'", "did you mean 'draft'?"]),
    ("settings", {"max_step": 0}, ["0", "1e-06 to 3600", "seconds"]),
    ("settings", {"min_step": 60, "max_step": 1}, ["60 s", "at most max_step = 1 s"]),
    ("settings", {"freezing": 1}, ["1", "true or false"]),
]

MATERIAL: list[Row] = [
    ("material", {"density": 0.65}, ["0.65", "1 to 9000", "g/cm³?"]),
    ("material", {"heat_capacity": 1.5}, ["1.5", "5 to 5000", "kJ/(kg·K)?"]),
    ("material", {"pore_volume": 55}, ["55", "0 to 1", "percent?"]),
    ("material", {"vapour": {"form": "mu", "mu": 0.5}}, ["0.5", "1 to 1e+09", "still air has 1"]),
    (
        "material",
        {"thermal": {"form": "constant", "value": 130}},
        ["130", "at most 10 W/(m·K)", "mW"],
    ),
    (
        "material",
        {"storage": {"form": "table", "rh": [[0.5, 60], [0.8, 50]], "w_free": 400}},
        ["50 kg/m³", "rh = 0.8", "must rise towards saturation"],
    ),
    ("material", {"densty": 650}, ["unknown key", "did you mean 'density'?"]),
    ("material", {"mould_class": "sensitve"}, ["'sensitve'", "'sensitive'"]),
]

ROWS = [*OUTSIDE, *LAYER, *INTERRUPTED, *LEAKS, *WHOLE, *ROOM, *SETTINGS, *MATERIAL]


@pytest.mark.parametrize(("door", "keys", "words"), ROWS)
def test_both_doors_refuse_in_the_same_words(
    tmp_path: Path, door: str, keys: dict[str, object], words: list[str]
) -> None:
    python, case = both_answers(tmp_path, door, keys)
    assert [as_in_a_file(text) for text in python] == case
    assert len(python) == 1, python
    for word in words:
        assert word in case[0], (word, case[0])
    # what Python is told can be written in Python
    assert not re.search(r"""= ["'t]|\btrue\b|\{|\bkeys?\b|\btable\b""", python[0]), python[0]


@pytest.mark.parametrize("door", DOORS)
def test_both_doors_let_pass_what_a_row_starts_from(tmp_path: Path, door: str) -> None:
    more = {"framing": {"conductivity": 50}, "preset": {"use": "dwelling_normal"}}
    assert both_answers(tmp_path, door, more.get(door, {})) == ([], [])


ELSEWHERE = [
    ("wall", "absorptance", 0.6, "hygro.Outside", "'outside'"),
    ("outside", "azimuth", 90.0, "hygro.Wall", "'wall'"),
    ("settings", "absorptance", 0.6, "hygro.Outside", "'outside'"),
    ("settings", "years", 2, "weather.read_years", ""),
    ("layer", "room", "home", "hygro.simulate", "'wall'"),
    ("inside", "film", 0.1, "hygro.Layer or hygro.Gap", "'layers'"),
]


@pytest.mark.parametrize(("door", "key", "value", "python", "toml"), ELSEWHERE)
def test_a_key_in_the_wrong_place_is_told_where_it_belongs(
    tmp_path: Path, door: str, key: str, value: object, python: str, toml: str
) -> None:
    call, case = both_answers(tmp_path, door, {"framing": None, key: value})
    assert call[0].startswith("unknown argument; ")
    assert python in call[0]
    assert toml in case[0] if toml else case == []
