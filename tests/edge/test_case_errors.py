"""What is wrong in a case file is answered with place, value, bound and cause, all at once."""

from __future__ import annotations

from pathlib import Path

import pytest
from case_files import SOUND, write_case

from hygro.case import CaseError, load
from hygro.errors import InputError


def problems(path: Path) -> list[str]:
    with pytest.raises(CaseError) as caught:
        load(path)
    assert all(line.startswith(str(path)) for line in str(caught.value).splitlines())
    return [": ".join(part for part in problem if part) for problem in caught.value.problems]


ISO = 'rain = "iso15927", rain_factors'
RAIN_FACTORS = [
    ("rain_factors = { exposur = 1.0 }", ["outside.rain_factors.exposur", "did you mean 'exp"]),
    ("rain_factors = { exposure = 100 }", ["rain_factors.exposure", "100", "0 to 3"]),
    (
        'rain_factors = { exposure = "sever", height = 8 }',
        ["rain_factors.exposure", "'sever'", "'severe'"],
    ),
    ('rain_factors = { exposure = "severe" }', ["outside.rain_factors.height", "missing"]),
    (
        "rain_factors = { exposure = 1.1, height = 8 }",
        ["rain_factors.height", "8", "goes with an exposure by name"],
    ),
    ('rain_factors = { deposition = "roof" }', ["rain_factors.deposition", "'steep roof'"]),
    ('rain_factors = { terrain = "II", height = 8 }', ["rain_factors.terrain", "ashrae160"]),
    (f'{ISO} = {{ terrain = "V", height = 8 }}', ["rain_factors.terrain", "'V'", "IV"]),
    (f'{ISO} = {{ terrain = "I" }}', ["rain_factors.height", "missing"]),
    (f'{ISO} = {{ terrain = "I", height = 8, roughness = 1 }}', ["terrain and roughness"]),
    (f"{ISO} = {{ wall = true }}", ["rain_factors.wall", "True", "number"]),
    (f"{ISO} = {{ obstacle_distance = 1 }}", ["distance", "1 m", "4 m"]),
    ('rain = "none", rain_factors = { exposure = 1 }', ['rain = "none" has no factors']),
]

FAULTS = [
    # (text replaced, text put in its place, what the one problem must say)
    (
        'name = "small"',
        'name = "small"\nnaem = 1',
        ["case.naem", "unknown key", "did you mean 'name'"],
    ),
    ('accuracy = "draft"', 'accuracy = "drift"', ["settings.accuracy", "'drift'", "'draft'?"]),
    ('rh = "45 %"', "rh = 45", ["room.home.rh", "45", "0 to 1", "in percent?"]),
    ('rh = "45 %"', "", ["room.home.rh", "missing"]),
    ('"21 degC"', "21", ["room.home.temperature", "21", "in degC or degF?"]),
    ('"21 degC"', '"21 degX"', ["room.home.temperature", "degX", "degC"]),
    ('kind = "constant"', 'kind = "constent"', ["room.home", "constent", "'constant'"]),
    ('azimuth = "N"', "azimuth = 400", ['wall."plain".azimuth', "400", "0 to 360"]),
    (
        'thickness = "140 mm"',
        "thickness = 140",
        [
            'wall."plain".layers[3].thickness (batt)',
            "140 m",
            "1.5 m",
            "is it in mm?",
            "thick = true",
        ],
    ),
    ('thickness = "140 mm"', "thickness = -0.14", ["layers[3].thickness", "-0.14", "is the sign"]),
    ('thickness = "140 mm"', 'thickness = "thick"', ["layers[3].thickness", "'thick'", "number"]),
    (
        'thickness = "140 mm"',
        'thicknes = "140 mm"',
        ["layers[3].thicknes", "unknown key", "'thickness'"],
    ),
    (', thickness = "140 mm"', "", ["layers[3]", "'thickness', 'resistance'"]),
    ('depth = "20 mm"', "depth = 20", ["layers[1].depth (vented gap)", "20", "is it in mm?"]),
    (
        "air_change = 100",
        "air_change = [1, 2]",
        ["layers[1].air_change", "has 2 items", "12"],
    ),
    (
        'material = "osb"',
        'material = "obs"',
        ['wall."plain".layers[2]', "'obs'", "did you mean", "'osb'"],
    ),
    (
        'membrane = "latex-paint"',
        'membrane = "osb"',
        ["layers[4]", "'osb' is no sheet", "material"],
    ),
    (
        'material = "osb"',
        'material = "latex-paint"',
        ["layers[2]", "'latex-paint' is a sheet", "membrane"],
    ),
    (
        '{ gap = "vented gap", depth',
        "{ depth",
        ["layers[1]", "'material', 'membrane', 'gap'", "it has 'depth'"],
    ),
    *(
        ('azimuth = "N"', f'azimuth = "N"\noutside = {{ {table} }}', words)
        for table, words in RAIN_FACTORS
    ),
    ('base = "plain"', 'base = "plane"', ['wall."leaky".base', "'plane'", "'plain'?"]),
    ('at = "sheathing"', 'at = "sheeting"', ["leaks.rain[0].at", "'sheeting'", "'sheathing'?"]),
    (
        'at = "sheathing"',
        'at = "sheathing", fraction = 1',
        None,  # 100 % of the rain is a wild assumption, but no error
    ),
    (
        'at = "sheathing"',
        'at = "sheathing", fraction = 5',
        ["leaks.rain[0].fraction", "5", "0 to 1", "percent"],
    ),
    (
        'base = "plain"',
        'base = "plain"\nchange.batts.thickness = "90 mm"',
        ['wall."leaky".change', "'batts'", "'batt'"],
    ),
    (
        'base = "plain"',
        'base = "plain"\nremove = ["nothing"]',
        ['wall."leaky".remove', "'nothing'", "no such element"],
    ),
    (
        'base = "plain"',
        'base = "plain"\nroom = "hall"',
        ['wall."leaky".room', "'hall'", "known: home"],
    ),
    (
        'base = "plain"',
        'base = "plain"\nsheathing = "osb"',
        ['wall."leaky".sheathing', "'osb'", "no such layer"],
    ),
    ('file = "town.csv"', 'file = "city.csv"', ["climate.file", "city.csv", "no such file"]),
    ('file = "town.csv"', "", ["climate", "exactly one of the keys 'file'", "it has none"]),
    (
        'file = "town.csv"',
        'file = "town.csv"\nfiles = ["town.csv"]',
        ["climate", "it has 'file', 'files'"],
    ),
    (
        "[settings]",
        "[criteria.change.mold]\nlimit = 2\n[settings]",
        ["criteria.change.mold", "unknown", "mould_index"],
    ),
    (
        "[settings]",
        '[materials.slab]\nlike = "osb"\ndensity = -5\n[settings]',
        ["materials.slab", "density", "-5", "5"],
    ),
    (
        "[settings]",
        '[materials.slab]\nlike = "osb"\nstorage = { form = "table", '
        "rh = [[0.3, 30], [0.5, 20], [0.8, 60]], w_free = 100 }\n[settings]",
        ["materials.slab", "storage"],
    ),
    ("[settings]", '[materials.slab]\nlike = "osbb"\n[settings]', ["materials.slab", "'osb'"]),
    ("[case]", 'material_files = "x.toml"\n[case]', ["material_files", "'x.toml'", "a list"]),
    ("[case]", 'material_files = ["x.toml"]\n[case]', ["material_files[0]", "x.toml", "no such"]),
    ('accuracy = "draft"', 'repeat = "for ever"', ["settings.repeat", "'until periodic'"]),
    (
        'leaks.rain = { at = "sheathing" }\n\n[settings]',
        'leaks.wetting = { at = "sheathing", mass = 0.1 }\n\n[settings]\nrepeat = "until periodic"',
        ['wall."leaky".leaks.wetting', "again in every round"],
    ),
    ('accuracy = "draft"', "years = 0.5", ["settings.years", "0.5", "whole number"]),
    ('accuracy = "draft"', "start_month = 13", ["settings.start_month", "13", "12"]),
]


@pytest.mark.parametrize(("old", "new", "words"), FAULTS)
def test_one_fault_gives_one_problem_with_place_value_and_cause(
    tmp_path: Path, old: str, new: str, words: list[str] | None
) -> None:
    path = write_case(tmp_path, (old, new), hours=24)
    if words is None:
        load(path)
        return
    found = problems(path)
    assert len(found) == 1, found
    for word in words:
        assert word in found[0], (word, found[0])


def test_all_faults_of_a_file_are_told_together(tmp_path: Path) -> None:
    path = write_case(
        tmp_path,
        ('rh = "45 %"', "rh = 45"),
        ('material = "osb"', 'material = "obs"'),
        ('azimuth = "N"', "azimuth = 400"),
        ('accuracy = "draft"', 'accuracy = "drift"'),
        hours=24,
    )
    found = problems(path)
    assert any("room.home.rh" in line for line in found)
    assert any("azimuth" in line for line in found)
    assert any("settings.accuracy" in line for line in found)
    assert len(found) == len(set(found))


def test_a_fault_of_a_base_wall_is_not_repeated_for_the_walls_built_on_it(tmp_path: Path) -> None:
    path = write_case(tmp_path, ('thickness = "11 mm"', 'thickness = "11 mn"'), hours=24)
    assert len(problems(path)) == 1


def test_two_walls_of_one_name_are_refused(tmp_path: Path) -> None:
    path = write_case(tmp_path, ('name = "leaky"', 'name = "plain"'), hours=24)
    assert any("2 walls have this name" in line for line in problems(path))


def test_walls_based_on_each_other_in_a_circle_are_refused(tmp_path: Path) -> None:
    path = write_case(tmp_path, ('name = "plain"\n', 'name = "plain"\nbase = "leaky"\n'), hours=24)
    assert any("circle" in line for line in problems(path))


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"[case\nname = 3", "not valid TOML"),
        (b"\xff\xfe\x00\x01", "not UTF-8"),
        (b"", "case: missing"),
        (b"case = 3\nwall = 4\nroom = 5\nclimate = 6", "wall"),
        (b"wall = [1, 2]\nroom = []", "wall"),
        (b"[[wall]]\nlayers = 3\nchange = 4\nremove = 5\nbase = 6\nname = 7", "wall"),
    ],
)
def test_what_is_no_case_file_is_refused_without_a_traceback(
    tmp_path: Path, content: bytes, words: str
) -> None:
    path = tmp_path / "case.toml"
    path.write_bytes(content)
    assert any(words in line for line in problems(path))


def test_a_missing_case_offers_the_built_in_ones(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="demonstration"):
        load("demonstratio")
    with pytest.raises(InputError, match=r"folder without a file case\.toml"):
        load(tmp_path)


def test_a_thick_layer_is_accepted_when_the_case_says_so(tmp_path: Path) -> None:
    new = "thickness = 3.0, thick = true"
    case = load(write_case(tmp_path, ('thickness = "140 mm"', new), hours=24))
    assert case.walls[0].wall.solids[2].thickness == 3.0


def test_the_sound_case_is_sound(tmp_path: Path) -> None:
    case = load(write_case(tmp_path, hours=24))
    assert [item.name for item in case.walls] == ["plain", "leaky"]
    assert SOUND.count("[[wall]]") == 2


def test_a_wall_that_follows_from_another_needs_a_name_of_its_own(tmp_path: Path) -> None:
    path = write_case(tmp_path, ('name = "leaky"\n', 'nam = "leaky"\n'), hours=24)
    assert problems(path) == ["wall[1].nam: unknown key; did you mean 'name'?"]
