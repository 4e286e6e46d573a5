"""The way in from Python: a wall of values, a climate, a room, one call, a verdict."""

from __future__ import annotations

from pathlib import Path

from case_files import write_case

from hygro.assess import verdict
from hygro.case import climate, load
from hygro.material.library import get
from hygro.record import load as load_record
from hygro.record import save, simulate, simulate_many
from hygro.solve.settings import Settings
from hygro.wall.assembly import Gap, Layer, Membrane, Place, RainLeak, Wall
from hygro.wall.room_presets import outdoor_rule


def test_a_wall_written_in_python_runs_and_is_judged(tmp_path: Path) -> None:
    wall = Wall(
        "my wall",
        (
            Layer("cladding", get("fibre-cement"), 0.008),
            Gap("vented gap", 0.019, air_change=100.0),
            Layer("outboard insulation", get("mineral-wool-board"), 0.100),
            Membrane("water barrier", get("membrane-35-perm")),
            Layer("sheathing", get("osb"), 0.011),
            Layer("cavity insulation", get("glass-wool-batt"), 0.140),
            Layer("gypsum board", get("gypsum-board"), 0.013),
            Membrane("paint", get("latex-paint")),
        ),
        rain_leaks=(RainLeak(Place("sheathing")),),
    )
    weather = climate(load(write_case(tmp_path)))
    room = outdoor_rule("en15026_normal")
    settings = Settings(accuracy="draft")
    record = simulate(wall, weather, room, settings=settings)
    found = verdict(record)
    assert found.sheathing == "sheathing"
    assert found.worst is not None
    path = save(record, tmp_path / "my-wall.nc")
    assert verdict(load_record(path)).to_dict() == found.to_dict()


def test_one_wall_in_many_rooms_runs_side_by_side(tmp_path: Path) -> None:
    wall = Wall(
        "framed",
        (
            Layer("sheathing", get("osb"), 0.011),
            Layer("cavity insulation", get("glass-wool-batt"), 0.140),
            Layer("gypsum board", get("gypsum-board"), 0.013),
        ),
    )
    weather = climate(load(write_case(tmp_path)))
    rooms = [outdoor_rule(key) for key in ("en15026_normal", "en15026_high")]
    settings = Settings(accuracy="draft")
    found = dict(simulate_many([(wall, weather, room) for room in rooms], settings=settings))
    assert set(found) == {0, 1}
    for k, room in enumerate(rooms):
        alone = simulate(wall, weather, room, settings=settings)
        record = found[k]
        assert not isinstance(record, Exception)
        assert verdict(record) == verdict(alone)
