"""Where a rain leak lands that names no layer, and rain past the barrier as a scenario."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import pytest
from case_files import write_case

from hygro.case import climate, load
from hygro.errors import HygroError
from hygro.room.models import Constant
from hygro.show import report
from hygro.solve.settings import Settings
from hygro.study.compare import compare
from hygro.study.leaks import leak_notes
from hygro.study.plan import scenarios
from hygro.terminal import show
from hygro.wall.elements import Gap, Layer, Membrane
from hygro.wall.leaks import AirLeak, Leaks, RainLeak, Wetting
from hygro.wall.wall import Wall

CLADDING, GAP = Layer("fibre-cement", "8 mm", name="cladding"), Gap("gap", 0.02, 50.0)
WOOL = Layer("mineral-wool-board", "50 mm", name="board")
BARRIER = Membrane("membrane-35-perm", name="sheet")
OSB = Layer("osb", "11 mm", name="osb")
INSIDE = (
    Layer("glass-wool-batt", "140 mm", name="batt"),
    Membrane("membrane-1-perm", name="retarder"),
    Layer("gypsum-board", "13 mm", name="gypsum"),
)
OUTBOARD = (CLADDING, GAP, WOOL, BARRIER, OSB, *INSIDE)


def place(*elements: Any, leak: Any = None, **more: Any) -> tuple[str, str]:
    wall = Wall("w", elements, leaks=[leak or RainLeak()], **more)
    (found,) = wall.leaks.all()
    return found.at, found.face


@pytest.mark.parametrize(
    ("elements", "expected"),
    [
        # the layer that touches the outer face of the sheet
        (OUTBOARD, ("board", "inner")),
        # air stands there: the layer behind it
        ((CLADDING, GAP, BARRIER, OSB, *INSIDE), ("osb", "outer")),
        # the outermost of two
        ((CLADDING, GAP, replace(BARRIER, name="outer"), *OUTBOARD[2:]), ("board", "outer")),
        # unless the other is called so
        (
            (CLADDING, GAP, BARRIER, WOOL, replace(BARRIER, name="air and water barrier"), OSB),
            ("board", "inner"),
        ),
        # two sheets that touch
        ((CLADDING, WOOL, BARRIER, replace(BARRIER, name="second"), OSB), ("board", "inner")),
    ],
)
def test_a_leak_without_a_place_acts_at_the_water_barrier(elements, expected) -> None:
    """ASHRAE 160 as quoted: 1 % on the outer face of the water-resistive barrier."""
    assert place(*elements) == expected


def test_a_sheet_may_be_named_and_a_layer_goes_first() -> None:
    assert place(*OUTBOARD, leak=RainLeak("sheet", face="inner")) == ("osb", "outer")
    assert place(*OUTBOARD, leak=RainLeak("osb")) == ("osb", "outer")
    assert place(*OUTBOARD, leak=AirLeak("retarder", rate=1e-5)) == ("gypsum", "outer")
    assert place(*OUTBOARD, leak=Wetting("sheet", 0.1)) == ("board", "inner")
    called = (CLADDING, replace(OSB, name="water barrier"), *INSIDE)
    assert place(*called) == ("water barrier", "outer")


def test_a_wall_without_a_barrier_says_what_to_do() -> None:
    bare = (CLADDING, GAP, OSB, *INSIDE)
    with pytest.raises(HygroError, match=r"leaks\.rain\[0\]\.at.*no sheet of that name.*say `at`"):
        Wall("w", bare, sheathing="osb", leaks=[RainLeak()])
    with pytest.raises(HygroError, match=r"leaks\.rain\[0\]\.past_barrier"):
        Wall("w", bare, sheathing="osb", leaks=[RainLeak("osb", past_barrier=0.01)])
    # a retarder inward of the sheathing keeps no rain out
    assert place(*bare, leak=RainLeak("osb"), sheathing="osb") == ("osb", "outer")


def test_rain_past_the_barrier_is_a_scenario_of_its_own() -> None:
    leaks = [RainLeak(fraction=0.02, past_barrier=0.005), AirLeak("osb", rate=1e-5)]
    found = scenarios(Wall("w", OUTBOARD, leaks=leaks))
    assert list(found) == ["tight", "rain", "past", "air", "both"]
    at = {
        name: [(x.at, x.face, getattr(x, "fraction", None)) for x in wall.leaks.all()]
        for name, wall in found.items()
    }
    assert at["rain"] == [("board", "inner", 0.02)]
    assert at["past"] == [("osb", "outer", 0.005)]
    assert at["both"] == [("board", "inner", 0.02), ("osb", "inner", None)]
    # nothing more is run where it is not asked for
    assert "past" not in scenarios(Wall("w", OUTBOARD, leaks=[RainLeak()]))


ASKED = (
    ('leaks.rain = { at = "sheathing" }',
     'leaks.rain = { past_barrier = "2 %" }\n'
     'layers = [\n'
     '  { material = "fibre-cement", name = "cladding", thickness = "8 mm" },\n'
     '  { gap = "vented gap", depth = "20 mm", air_change = 100 },\n'
     '  { material = "xps", name = "foam", thickness = "25 mm" },\n'
     '  { membrane = "membrane-35-perm", name = "water barrier" },\n'
     '  { material = "osb", name = "sheathing", thickness = "11 mm" },\n'
     '  { material = "glass-wool-batt", name = "batt", thickness = "140 mm" },\n'
     '  { membrane = "latex-paint", name = "paint" },\n'
     ']'),
)  # fmt: skip


def test_it_has_a_row_its_notes_and_decides(tmp_path, capsys) -> None:
    case = load(write_case(tmp_path, *ASKED))
    weather, item = climate(case), case.wall("leaky")
    found = compare(item.wall, weather, item.room, settings=Settings(accuracy="draft"))
    (wall,) = found.walls
    assert [o.run.scenario for o in wall.outcomes] == ["tight", "rain", "past"]
    assert wall.leaky is wall.outcomes[1]
    contents = [float(str(o.numbers["mc_30d_max"])) for o in wall.outcomes]
    assert contents[2] > max(contents[:2]) + 0.01
    assert wall.deciding.run.scenario == "past"
    show(report.comparison("c", "", found.walls, (), weather.attrs, system="si"))
    assert "decided by 'past'" in capsys.readouterr().out

    dry = replace(item.wall, outside=replace(item.wall.outside, rain="none"))
    (wall,) = compare(
        dry, weather, Constant(294.15, 0.2), settings=Settings(accuracy="draft")
    ).walls
    assert wall.passed is None
    assert "no rain met the wall: rain past the water barrier was not tried" in wall.leak_notes


def test_a_scenario_that_would_be_another_is_told() -> None:
    plain = Wall("w", (CLADDING, GAP, BARRIER, OSB), leaks=[RainLeak(past_barrier=0.01)])
    assert list(scenarios(plain)) == ["tight", "rain"]
    numbers = {"mc_30d_max": 0.1, "rain_incident": 9.0, "leak_rain": 1.0, "leak_air": 0.0}
    outcome: Any = SimpleNamespace(run=SimpleNamespace(wall=plain), numbers=numbers)
    assert leak_notes({"tight": outcome, "rain": outcome}) == (
        "rain past the water barrier lands where the rain leak does: one scenario",
    )
    assert Leaks(rain=RainLeak("osb")).rain[0].past_barrier is None
