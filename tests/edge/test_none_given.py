"""None, or something of another type, where a wall, a climate, a record or a name is wanted."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, NamedTuple

import pytest
import xarray as xr
from assess_records import record
from case_files import write_case

import hygro
from hygro.assess import mould_index
from hygro.assess.growth import mould
from hygro.case import Case


class Given(NamedTuple):
    """What is sound."""

    case: Case
    wall: hygro.Wall
    climate: xr.Dataset
    room: Any
    record: xr.Dataset

    @property
    def run(self) -> tuple[hygro.Wall, xr.Dataset, Any]:
        """What `hygro.simulate` takes."""
        return self.wall, self.climate, self.room


@pytest.fixture(scope="module")
def given(tmp_path_factory: pytest.TempPathFactory) -> Given:
    case = hygro.load_case(write_case(tmp_path_factory.mktemp("case")))
    item = case.walls[0]
    return Given(case, item.wall, hygro.climate_of(case), item.room, record())


def study(g: Given, vary: Any) -> hygro.Study:
    return hygro.Study(g.case, wall="plain", vary=vary)


def many(g: Given, **options: Any) -> list[Any]:
    return list(hygro.simulate_many([g.run], **options))


def page(g: Given, **options: Any) -> Any:
    return hygro.report(g.record, out="x.html", **options)


def index(**given: Any) -> Any:
    return mould_index(**{"temperature": [290.0, 290.0], "rh": [0.9, 0.9], **given})


THICK = "layers.sheathing.thickness"
CALLS: list[tuple[Callable[[Given], Any], str]] = [
    (lambda _: hygro.Layer(None, "8 mm"), "material: None: must be"),
    (lambda _: hygro.Layer("osb", None), "thickness: None: must be a number"),
    (lambda _: hygro.Wall("w", None), "layers"),
    (lambda g: hygro.simulate(None, g.climate, g.room), "wall: is NoneType"),
    (lambda g: hygro.simulate(g.wall, None, g.room), "must be a Dataset"),
    (lambda g: hygro.simulate(g.wall, g.climate, "office"), "room: is str"),
    (
        lambda g: hygro.simulate(g.wall, g.climate, None),
        r"room: is missing: a climate needs a room, .*get_",
    ),
    (
        lambda g: hygro.simulate_to_file(g.wall, g.climate, file="x"),
        r"a climate needs a room, .*get_",
    ),
    (lambda g: hygro.simulate(*g.run, settings=3), "settings: is int"),
    (lambda g: hygro.simulate(*g.run, settings={}), "settings: is dict: must be hygro.Settings"),
    (lambda g: many(g, settings={}), "settings: is dict"),
    (lambda g: hygro.simulate_periodic(*g.run, settings={}), "settings: is dict"),
    (lambda g: hygro.compare(*g.run, settings={}), "settings: is dict"),
    (lambda g: hygro.simulate(*g.run, provenance="x"), "provenance: is str: must be a dict"),
    (lambda g: hygro.simulate(*g.run, provenance={1: 2}), "provenance: name 1: is int: must be a"),
    (
        lambda g: hygro.simulate(*g.run, provenance={"a": object()}),
        "a = <object .* must be a text",
    ),
    (lambda g: many(g, provenance="x"), "provenance: is str: must be a dict of attributes, or one"),
    (lambda g: many(g, provenance=[]), "provenance: has 0 dicts: must have 1, one for each"),
    (lambda g: many(g, threads="2"), "threads: is str: must be a whole number of at least 1"),
    (lambda g: many(g, periodic=True, rounds=2.5), "rounds: is float: must be a whole number"),
    (lambda g: hygro.simulate_periodic(*g.run, rounds=2.5), "rounds: is float: must be a whole"),
    (lambda g: hygro.simulate_periodic(*g.run, rounds=0), "rounds = 0: must be a whole number of"),
    (lambda g: hygro.simulate_periodic(*g.run, rounds=True), "rounds = True: must be a whole"),
    (lambda _: list(hygro.simulate_many(None)), "runs: is NoneType"),
    (lambda _: list(hygro.simulate_many([None])), r"runs\[0\]: is NoneType"),
    (lambda g: list(hygro.simulate_many([(g.wall,)])), r"runs\[0\]: has 1 items: must be \(Wall"),
    (lambda g: hygro.simulate_to_file(g.wall, g.climate, g.room, file=None), "file: is NoneType"),
    (lambda g: hygro.build_loads(None, g.climate, g.room), "wall: is NoneType"),
    (lambda g: hygro.build_loads(g.wall, g.climate, None), "room: is NoneType"),
    (lambda _: hygro.verdict(None), "expected an xarray Dataset"),
    (lambda g: hygro.verdict(g.record, criteria=None), "criteria: is NoneType: must be Criterion"),
    (lambda g: hygro.verdict(g.record, skip_days="30"), "skip_days = '30': must be a number of d"),
    (lambda g: hygro.verdict(g.record, skip_days=float("inf")), "skip_days = inf: must be a numbe"),
    (lambda g: hygro.verdict(g.record, mould_model=None), "^mould model None: unknown"),
    (lambda g: hygro.verdict(g.record, decline=[1]), "^decline: is list: must be a number 0-1 or"),
    (lambda g: hygro.verdict(g.record, decline=True), "^decline: is bool: must be a number 0-1 or"),
    (lambda g: hygro.verdict(g.record).of("mold"), r"'mold': unknown \(did you mean 'mould_"),
    (lambda g: hygro.verdict(g.record).of(5), "criterion: is int: must be the key of one"),
    (lambda _: index(start="1"), "start: is str: must be a number 0-6"),
    (lambda _: index(start=True), "start: is bool: must be a number 0-6"),
    (lambda _: index(sensitivity=5), "sensitivity: is int: must be a class, or one for each"),
    (lambda _: index(sensitivity=[5]), "mould class: is int: must be a text"),
    (lambda _: index(course=5), "course: is int: must be a Course or None"),
    (lambda _: index(temperature="a"), "temperature = 'a': must be an array of numbers"),
    (lambda _: index(rh=[0.8, {}]), r"rh = \[0.8, {}\]: must be an array of numbers"),
    (lambda g: hygro.verdict(g.record, sheathing=3), "layer '3': not in this wall"),
    (lambda g: mould(g.record, model=None), "mould model None: unknown"),
    (lambda g: mould(g.record, skip_days="30"), "skip_days = '30'"),
    (lambda g: g.record.hygro.summary(mould_model=None), "mould model None: unknown"),
    (lambda g: g.record.hygro.moisture_content(None), "layer 'None': not in this wall"),
    (lambda g: g.record.hygro.moisture_content("osb", "x"), r"part: is str: must be .*\(\"outer"),
    (lambda g: g.record.hygro.moisture_content("osb", ("outer",)), r"part: \('outer',\): must be"),
    (lambda g: g.record.hygro.condensate("osb", near=None), "near: is NoneType: must be a depth"),
    (lambda g: g.record.hygro.plot.section(system="x"), "system = 'x': must be one of: si, ip"),
    (lambda g: g.record.hygro.plot.envelope("x"), "quantity = 'x': must be one of: temperature"),
    (lambda _: hygro.repeat(None), "record: is NoneType"),
    (lambda _: hygro.save(None, "x.nc"), "record: is NoneType"),
    (lambda _: hygro.save(xr.Dataset(), None), "file: is NoneType"),
    (lambda _: hygro.open_record(None), "file: is NoneType"),
    (lambda _: hygro.report(None, out="x.html"), "report: is NoneType"),
    (lambda g: page(g, system="x"), "system = 'x': must be one of: si, ip"),
    (lambda g: page(g, criteria=3), "criteria: is int: must be Criterion"),
    (lambda g: page(g, studies=None), "studies: is NoneType: must be studies"),
    (lambda g: page(g, checks=3), "checks: is int: must be a dict"),
    (lambda g: page(g, reserves=3), "reserves: is int: must be a dict"),
    (lambda g: page(g, failed=3), "failed: is int: must be a list"),
    (lambda g: hygro.compare(None, g.climate, g.room), "walls: is NoneType"),
    (lambda g: hygro.compare([None], g.climate, g.room), "wall: is NoneType"),
    (lambda g: hygro.compare(g.wall, None, g.room), "must be a Dataset"),
    (lambda g: hygro.compare(g.wall, g.climate, None), "room: is NoneType"),
    (lambda g: hygro.compare(*g.run, criteria=None), "criteria: is NoneType"),
    (lambda g: hygro.compare(*g.run, skip_days="30"), "skip_days = '30'"),
    (lambda g: hygro.compare(*g.run, mould_model=None), "mould model None"),
    (lambda g: hygro.compare(*g.run, repeat=None), "repeat = None: must be one of: as needed"),
    (
        lambda g: hygro.compare(*g.run, reserve="yes"),
        "reserve: is str: must be True, False or",
    ),
    (
        lambda g: hygro.compare(*g.run, reserve=[True]),
        "reserve: is list: must be True, False o",
    ),
    (lambda g: hygro.limit(None, g.climate, g.room, THICK, 0.01, 0.02), "wall: is NoneType"),
    (lambda g: hygro.limit(g.wall, g.climate, g.room, None, 0.01, 0.02), "path: is NoneType"),
    (lambda g: hygro.limit(g.wall, g.climate, g.room, THICK, None, 0.02), "low: is NoneType"),
    (lambda g: hygro.limit(g.wall, g.climate, g.room, THICK, 0.01, None), "high: is NoneType"),
    (lambda g: hygro.limit(*g.run, THICK, 0.01, 0.02, judging=3), "judging: is int"),
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
