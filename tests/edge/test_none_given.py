"""None, or something of another type, where a wall, a climate, a record or a name is wanted."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, NamedTuple

import pytest
import xarray as xr
from case_files import write_case

import hygro
from hygro.case import Case


class Given(NamedTuple):
    """What is sound."""

    case: Case
    wall: hygro.Wall
    climate: xr.Dataset
    room: Any


@pytest.fixture(scope="module")
def given(tmp_path_factory: pytest.TempPathFactory) -> Given:
    case = hygro.load_case(write_case(tmp_path_factory.mktemp("case")))
    item = case.walls[0]
    return Given(case, item.wall, hygro.climate_of(case), item.room)


def study(g: Given, vary: Any) -> hygro.Study:
    return hygro.Study(g.case, wall="plain", vary=vary)


THICK = "layers.sheathing.thickness"
CALLS: list[tuple[Callable[[Given], Any], str]] = [
    (lambda _: hygro.Layer(None, "8 mm"), "material: None: must be"),
    (lambda _: hygro.Layer("osb", None), "thickness: None: must be a number"),
    (lambda _: hygro.Wall("w", None), "layers"),
    (lambda g: hygro.simulate(None, g.climate, g.room), "wall: is NoneType"),
    (lambda g: hygro.simulate(g.wall, None, g.room), "must be a Dataset"),
    (lambda g: hygro.simulate(g.wall, g.climate, "office"), "room: is str"),
    (lambda g: hygro.simulate(g.wall, g.climate, g.room, settings=3), "settings: is int"),
    (lambda _: list(hygro.simulate_many(None)), "runs: is NoneType"),
    (lambda _: list(hygro.simulate_many([None])), r"runs\[0\]: is NoneType"),
    (lambda g: hygro.simulate_to_file(g.wall, g.climate, g.room, file=None), "file: is NoneType"),
    (lambda g: hygro.build_loads(None, g.climate, g.room), "wall: is NoneType"),
    (lambda g: hygro.build_loads(g.wall, g.climate, None), "room: is NoneType"),
    (lambda _: hygro.verdict(None), "expected an xarray Dataset"),
    (lambda _: hygro.repeat(None), "record: is NoneType"),
    (lambda _: hygro.save(None, "x.nc"), "record: is NoneType"),
    (lambda _: hygro.save(xr.Dataset(), None), "file: is NoneType"),
    (lambda _: hygro.open_record(None), "file: is NoneType"),
    (lambda _: hygro.report(None, out="x.html"), "report: is NoneType"),
    (lambda g: hygro.compare(None, g.climate, g.room), "walls: is NoneType"),
    (lambda g: hygro.compare([None], g.climate, g.room), "wall: is NoneType"),
    (lambda g: hygro.compare(g.wall, None, g.room), "must be a Dataset"),
    (lambda g: hygro.compare(g.wall, g.climate, None), "room: is NoneType"),
    (lambda g: hygro.limit(None, g.climate, g.room, THICK, 0.01, 0.02), "wall: is NoneType"),
    (lambda g: hygro.limit(g.wall, g.climate, g.room, None, 0.01, 0.02), "path: is NoneType"),
    (lambda g: hygro.limit(g.wall, g.climate, g.room, THICK, None, 0.02), "low: is NoneType"),
    (lambda g: hygro.limit(g.wall, g.climate, g.room, THICK, 0.01, None), "high: is NoneType"),
    (lambda _: hygro.Study(None, vary={"winter_rh": [0.3]}), "case: is NoneType"),
    (lambda g: study(g, None), "nothing varies"),
    (lambda g: study(g, 0.3), "vary: is float: must be a dict"),
    (lambda g: study(g, {"winter_rh": None}), "None: must be a list of values, a range"),
    (lambda g: study(g, {"winter_rh": 0.3}), r"0.3: must be a list of values, such as \[0.3\]"),
    (lambda g: study(g, {"winter_rh": "30 %"}), r"such as \['30 %'\]"),
    (lambda _: hygro.load_case(None), "case: is NoneType"),
    (lambda _: hygro.climate_of(None), "case: is NoneType"),
    (lambda _: hygro.read_weather(None), "file: is NoneType"),
    (lambda _: hygro.read_normals(None), "file: is NoneType"),
    (lambda _: hygro.get_material(None), "material: is NoneType"),
    (lambda _: hygro.get_room(None), "room: is NoneType"),
]


@pytest.mark.parametrize(("call", "words"), CALLS, ids=[words for _, words in CALLS])
def test_a_wrong_type_is_one_plain_error(
    call: Callable[[Given], Any], words: str, given: Given
) -> None:
    with pytest.raises(hygro.HygroError, match=words) as caught:
        call(given)
    assert len(str(caught.value).splitlines()) == 1
