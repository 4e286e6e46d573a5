"""The way in from Python: a wall of values, a climate, a room, one call, a verdict."""

from __future__ import annotations

from pathlib import Path

from case_files import write_case

from hygro.assess import verdict
from hygro.case import climate, load
from hygro.material.library import get
from hygro.record import load as load_record
from hygro.record import save, simulate, simulate_many
from hygro.room.models import OutdoorRule
from hygro.solve.settings import Settings
from hygro.wall.elements import Gap, Layer, Membrane
from hygro.wall.leaks import Leaks, RainLeak
from hygro.wall.loads import build_loads
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
    cases = [(wall, build_loads(wall, weather, room)) for room in rooms]
    found = dict(simulate_many(cases, settings=settings))
    assert set(found) == {0, 1}
    for k, room in enumerate(rooms):
        alone = simulate(wall, weather, room, settings=settings)
        record = found[k]
        assert not isinstance(record, Exception)
        assert verdict(record) == verdict(alone)
