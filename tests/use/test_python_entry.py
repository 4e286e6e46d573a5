"""The way in from Python: a wall of values, a climate, a room, one call, a verdict."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import xarray as xr
from case_files import write_case

from hygro.assess import verdict
from hygro.case import climate, load
from hygro.errors import InputError
from hygro.material import SheetMaterial, vapour
from hygro.material.library import get, get_material
from hygro.record import load as load_record
from hygro.record import save, simulate, simulate_many
from hygro.room.models import OutdoorRule
from hygro.solve.settings import Settings
from hygro.wall.elements import Gap, Layer, Membrane
from hygro.wall.interruptions import Attachment
from hygro.wall.leaks import Leaks, RainLeak
from hygro.wall.wall import Wall


def test_a_wall_written_in_python_runs_and_is_judged(tmp_path: Path) -> None:
    wall = Wall(
        "my wall",
        (
            Layer(get("fibre-cement"), 0.008, name="cladding"),
            Gap("vented gap", 0.019, air_change=100.0),
            Layer(get("mineral-wool-board"), 0.100, name="outboard insulation"),
            Membrane(get("membrane-35-perm"), name="water barrier"),
            Layer(get("osb"), 0.011, name="sheathing"),
            Layer(get("glass-wool-batt"), 0.140, name="cavity insulation"),
            Layer(get("gypsum-board"), 0.013, name="gypsum board"),
            Membrane(get("latex-paint"), name="paint"),
        ),
        leaks=Leaks(rain=(RainLeak("sheathing"),)),
    )
    weather = climate(load(write_case(tmp_path)))
    room = OutdoorRule("en15026_normal")
    settings = Settings(accuracy="draft")
    record = simulate(wall, weather, room, settings=settings)
    found = verdict(record)
    assert found.sheathing == "sheathing"
    assert found.worst is not None
    path = save(record, tmp_path / "my-wall.nc")
    assert verdict(load_record(path)).to_dict() == found.to_dict()


@pytest.mark.parametrize(
    ("given", "room", "words"),
    [
        ("year.epw", OutdoorRule("en15026_high"), "is str: must be a Dataset; read a file with"),
        (xr.Dataset(), "en15026_normal", "room: is str: must be a room"),
    ],
)
def test_what_is_no_climate_or_room_is_refused(given: Any, room: Any, words: str) -> None:
    with pytest.raises(InputError, match=words):
        simulate(Wall("own", (Layer("osb", "11 mm"),)), given, room)


def test_a_face_is_outer_or_inner(tmp_path: Path) -> None:
    weather = climate(load(write_case(tmp_path, hours=48)))
    wall = Wall("own", (Layer("osb", "11 mm", name="sheathing"),))
    record = simulate(wall, weather, OutdoorRule("en15026_normal"))
    with pytest.raises(InputError, match="'inside': must be 'outer' or 'inner'"):
        record.hygro.mould_index("sheathing", "inside")


def test_one_wall_in_many_rooms_runs_side_by_side(tmp_path: Path) -> None:
    wall = Wall(
        "framed",
        (
            Layer(get("osb"), 0.011, name="sheathing"),
            Layer(get("glass-wool-batt"), 0.140, name="cavity insulation"),
            Layer(get("gypsum-board"), 0.013, name="gypsum board"),
        ),
    )
    weather = climate(load(write_case(tmp_path)))
    rooms = [OutdoorRule(key) for key in ("en15026_normal", "en15026_high")]
    settings = Settings(accuracy="draft")
    found = dict(simulate_many([(wall, weather, room) for room in rooms], settings=settings))
    assert set(found) == {0, 1}
    for k, room in enumerate(rooms):
        alone = simulate(wall, weather, room, settings=settings)
        record = found[k]
        assert not isinstance(record, Exception)
        assert verdict(record) == verdict(alone)


def test_one_thing_is_a_list_of_one() -> None:
    leak, screw = RainLeak("sheathing"), Attachment("screw", 0.4, diameter="5 mm")
    layer = Layer("osb", "11 mm", name="sheathing", attachments=screw)
    wall = Wall("one", layer, leaks=leak)
    assert wall.layers == (layer,)
    assert wall.leaks == Leaks(rain=(leak,)) == Leaks(rain=leak)
    assert layer.attachments == (screw,)


def test_values_are_written_in_a_few_lines_of_what_differs() -> None:
    wall = Wall(
        "short",
        [
            Layer("fibre-cement", "8 mm", name="cladding"),
            Gap("vented gap", "19 mm", 100),
            Membrane("membrane-35-perm"),
            Layer("osb", "13 mm", name="sheathing"),
        ],
        azimuth="E",
        leaks=RainLeak("sheathing", "2 %"),
    )
    assert repr(wall) == (
        "Wall('short', [\n"
        "    Layer(material='fibre-cement', thickness=0.008, name='cladding'),\n"
        "    Gap(name='vented gap', depth=0.019, air_change=100),\n"
        "    Membrane(material='membrane-35-perm', name='membrane-35-perm'),\n"
        "    Layer(material='osb', thickness=0.013, name='sheathing'),\n"
        "], azimuth=90, leaks=Leaks(rain=(RainLeak(at='sheathing', fraction=0.02),)))"
    )
    assert repr(Settings()) == "Settings()"


def test_a_sheet_is_written_with_the_permeance_it_has() -> None:
    """1 perm is 57.2e-12 kg/(m²·s·Pa); what is written makes the same sheet again."""
    paper = get_material("membrane-35-perm", key="paper", permeance={"form": "perm", "perm": 20})
    for sheet, part in (
        (Membrane("latex-paint"), "Membrane(material='latex-paint', name='latex-paint')"),
        (Membrane("latex-paint", permeance="5 perm"), "permeance=2.86e-10)"),
        (Membrane(paper, "wrb"), "permeance=SheetPerm(perm=20)"),
        (Membrane("membrane-35-perm", permeance="1 perm"), "permeance=5.72e-11)"),
    ):
        assert part in repr(sheet)
        again = eval(repr(sheet), vars(vapour) | {"SheetMaterial": SheetMaterial,
                                                  "Membrane": Membrane})  # fmt: skip
        assert again.material.permeance == sheet.material.permeance
        assert (again.name, again.material.key) == (sheet.name, sheet.material.key)


def test_a_material_of_ones_own_is_not_written_as_that_of_the_library() -> None:
    """Its key would bring back another: oriented strand board of 640 kg/m³, or none."""
    dense = get_material("osb", density=700.0)
    own = replace(dense, key="my-board", name="My board")
    for material, words in ((dense, "Material('osb', "), (own, "Material('my-board', 'My board'")):
        told = repr(Layer(material, "11 mm"))
        assert told.startswith(f"Layer(material={words}")
        assert "700 kg/m³" in told
    assert repr(Layer(get_material("osb"), "11 mm")).startswith("Layer(material='osb'")
    tight = Membrane(get_material("latex-paint", liquid_tight=True))
    assert repr(tight).startswith("Membrane(material=SheetMaterial(key='latex-paint'")


def test_a_material_is_written_in_a_line() -> None:
    assert len(repr(get("osb"))) < 80


def test_a_record_says_what_it_is(tmp_path: Path) -> None:
    wall = Wall("my wall", Layer("osb", "11 mm", name="sheathing"))
    weather = climate(load(write_case(tmp_path, hours=48)))
    told = repr(simulate(wall, weather, OutdoorRule("en15026_normal")).hygro).splitlines()
    assert len(told) <= 4
    assert max(map(len, told)) <= 80
    first, last = weather["time"].values[[0, -1]].astype("datetime64[h]")
    before = first - 1
    assert told[0] == f"Record of 'my wall': {before} to {last}, without leaks"
    assert "sheathing" in told[1]
