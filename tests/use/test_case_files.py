"""Case files as people write them: templates, units, own materials, paths for studies, schema."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest
from case_files import write_case

from hygro.case import CaseError, built_in, from_data, load, set_value
from hygro.case.publish import PUBLISHED, schema_text
from hygro.errors import InputError
from hygro.wall.elements import Gap, Initial, Layer, Openings
from hygro.wall.leaks import AirLeak, RainLeak, Wetting
from hygro.wall.wall import tight


def layer(case, wall: str, name: str) -> Layer:
    return case.wall(wall).wall.layer(name)


def test_published_schema_is_that_of_the_models() -> None:
    assert PUBLISHED.read_text(encoding="utf-8") == schema_text(), (
        "run `hygro schema --out hygro/case_schema.json`"
    )


def test_demonstration_is_built_in_and_sound() -> None:
    case = load("demonstration")
    assert case.path == built_in()["demonstration"]
    assert len(case.walls) >= 4
    assert all(item.wall.leaky for item in case.walls)
    names = [item.name for item in case.walls]
    assert {f"{name}, wet start" for name in names[:4]} == set(names[4:])


def test_both_unit_families_give_the_same_wall(tmp_path: Path) -> None:
    si = load(write_case(tmp_path, ('thickness = "140 mm"', 'thickness = "139.7 mm"'), hours=24))
    ip = load(write_case(tmp_path, ('thickness = "140 mm"', 'thickness = "5.5 in"'), hours=24))
    # 1e-12: round-off of one multiplication
    assert si.walls[0].wall.thickness == pytest.approx(ip.walls[0].wall.thickness, rel=1e-12)


def test_a_layer_may_be_given_by_its_resistance(tmp_path: Path) -> None:
    case = load(write_case(tmp_path, ('thickness = "140 mm"', 'resistance = "R-11.25"'), hours=24))
    batt = layer(case, "plain", "batt")
    k = float(batt.material.thermal.conductivity(batt.material.water_content(0.5)))
    # is 1.98125 m²·K/W to the six digits written here
    assert batt.thickness == pytest.approx(1.98125 * k, rel=1e-5)


def test_a_derived_wall_differs_only_in_what_it_says(tmp_path: Path) -> None:
    change = (
        'base = "plain"',
        'base = "plain"\nchange.batt.thickness = "90 mm"\n'
        'change.sheathing.initial = { moisture_content = "24 %" }\nremove = ["paint"]',
    )
    case = load(write_case(tmp_path, change, hours=24))
    plain, leaky = case.wall("plain").wall, case.wall("leaky").wall
    assert layer(case, "leaky", "batt").thickness == pytest.approx(0.090)
    assert layer(case, "plain", "batt").thickness == pytest.approx(0.140)
    assert layer(case, "leaky", "sheathing").initial == Initial(moisture_content=0.24)
    assert layer(case, "plain", "sheathing").initial is None
    assert [e.name for e in leaky.layers] == [e.name for e in plain.layers][:-1]
    assert plain.leaks.rain == ()
    assert leaky.leaks.rain == (RainLeak("sheathing", fraction=0.01),)


def test_leaks_and_gaps_become_the_values_of_the_wall(tmp_path: Path) -> None:
    text = (
        'at = "sheathing" }',
        'at = "sheathing", depth = "3 mm", fraction = "2 %" }\n'
        'leaks.wetting = { at = "batt", mass = "500 g/m2", after = "14 days" }\n'
        'leaks.air = { at = "sheathing", face = "inner", rate = "0.1 L/(s.m2)" }\n'
        'change."vented gap".air_change = { area = "50 cm2/m", height = "3 m" }',
    )
    case = load(write_case(tmp_path, text, hours=24))
    wall = case.wall("leaky").wall
    assert wall.leaks.rain == (RainLeak("sheathing", fraction=0.02, depth=0.003),)
    assert wall.leaks.wetting == (Wetting("batt", 0.5, after=14 * 24),)
    assert wall.leaks.air == (AirLeak("sheathing", rate=1e-4),)
    gap = next(e for e in wall.layers if isinstance(e, Gap))
    assert gap.air_change == Openings(area=0.005, height=3.0)
    assert not tight(wall).leaky


def test_own_material_may_start_from_one_of_the_library(tmp_path: Path) -> None:
    own = (
        "[settings]",
        '[materials.dense-board]\nlike = "osb"\ndensity = 720.0\n'
        'sources.density = "data sheet"\n[settings]',
    )
    use = ('material = "osb"', 'material = "dense-board"')
    case = load(write_case(tmp_path, own, use, hours=24))
    board = layer(case, "plain", "sheathing").material
    assert (board.key, board.density, board.sources["density"]) == (
        "dense-board",
        720.0,
        "data sheet",
    )
    assert board.wood_based


def test_a_membrane_may_be_given_its_permeance(tmp_path: Path) -> None:
    use = ('membrane = "latex-paint"', 'membrane = "latex-paint", permeance = "0.5 perm"')
    case = load(write_case(tmp_path, use, hours=24))
    sheet = case.walls[0].wall.layers[-1].material
    # 1e-12: round-off of one multiplication; 57.2 ng/(Pa·s·m²) is the rounded US perm
    assert float(sheet.permeance.permeance(0.5)) == pytest.approx(0.5 * 57.2e-12, rel=1e-12)


@pytest.mark.parametrize(
    ("path", "value", "seen"),
    [
        ('wall."plain".layers."batt".thickness', "90 mm", 0.090),
        ("wall.plain.layers[3].thickness", 0.2, 0.2),
        ("wall[0].layers.batt.thickness", "8 in", 0.2032),
    ],
)
def test_every_value_has_a_path_by_which_a_study_sets_it(
    tmp_path: Path, path: str, value: object, seen: float
) -> None:
    case = load(write_case(tmp_path, hours=24))
    varied = from_data(set_value(case.data, path, value), path=case.path)
    assert layer(varied, "plain", "batt").thickness == pytest.approx(seen)
    assert layer(case, "plain", "batt").thickness == pytest.approx(0.140)


def test_a_path_may_set_what_the_file_left_out(tmp_path: Path) -> None:
    case = load(write_case(tmp_path, hours=24))
    varied = from_data(set_value(case.data, "wall.plain.outside.absorptance", 0.9), path=case.path)
    assert varied.wall("plain").wall.outside.absorptance == 0.9


def test_a_varied_case_is_checked_like_a_file(tmp_path: Path) -> None:
    case = load(write_case(tmp_path, hours=24))
    data = set_value(case.data, "room.home.rh", 45)
    with pytest.raises(CaseError, match=r"room\.home\.rh: 45: must be 0 to 1; is it in percent"):
        from_data(data, path=case.path)


@pytest.mark.parametrize(
    ("given", "write"),  # a room may have -50 to 70 °C, that is -58 to 158 °F
    [(21, '"21 degC" or "21 degF"'), (72, '"72 degF"'), (-55, '"-55 degF"')],
)
def test_a_temperature_without_unit_is_asked_in_each_unit_that_would_do(
    tmp_path: Path, given: int, write: str
) -> None:
    data = set_value(load(write_case(tmp_path, hours=24)).data, "room.home.temperature", given)
    words = rf"temperature: {given}: must be 223.15 to 343.15 K; .*write {write}$"
    with pytest.raises(CaseError, match=words):
        from_data(data, path=tmp_path / "case.toml")


@pytest.mark.parametrize("path", ["", "wall.nothing.azimuth", "case.name.deeper", "wall[9].name"])
def test_a_path_that_leads_nowhere_is_refused(tmp_path: Path, path: str) -> None:
    case = load(write_case(tmp_path, hours=24))
    with pytest.raises(InputError, match="path"):
        set_value(case.data, path, 1)


def test_the_demonstration_follows_the_published_schema_keys() -> None:
    import json

    schema = json.loads(PUBLISHED.read_text(encoding="utf-8"))
    data = tomllib.loads(built_in()["demonstration"].read_text(encoding="utf-8"))
    assert set(data) <= set(schema["properties"])
    assert set(data["wall"][0]) <= set(schema["$defs"]["WallEntry"]["properties"])
