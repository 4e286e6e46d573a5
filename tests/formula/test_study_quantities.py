"""What a study varies by name, against hand calculations; distributions against their formulas."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from study_cases import write_study

import hygro
from hygro.case import load
from hygro.decide.axis import axis_of
from hygro.decide.base import Base, base_of_case, room_of, wall_of
from hygro.decide.dimension import dimension, settle_many
from hygro.decide.draw import points, shares
from hygro.decide.finding import StudyPoints
from hygro.decide.in_units import found_in
from hygro.decide.slots import slot
from hygro.decide.trade import TRADE
from hygro.decide.tree import changed
from hygro.errors import InputError
from hygro.quantities import R_IP
from hygro.room.time import Outdoor
from hygro.study.varied import LogNormal, Normal, Range, Samples, Triangular, Uniform, Values
from hygro.wall.wall import Wall
from weather.moistair import saturation_pressure

OUTBOARD = (
    '{ material = "osb", name = "sheathing", thickness = "11 mm" },\n'
    '  { material = "glass-wool-batt", name = "batt", thickness = "140 mm" },',
    '{ material = "outer", name = "board", thickness = "50 mm" },\n'
    '  { membrane = "membrane-35-perm", name = "barrier" },\n'
    '  { material = "osb", name = "sheathing", thickness = "11 mm" },\n'
    '  { material = "inner", name = "batt", thickness = "140 mm" },',
)
MATERIALS = """
[materials.outer]
like = "xps"
thermal = { form = "constant", value = 0.025 }

[materials.inner]
like = "glass-wool-batt"
thermal = { form = "constant", value = 0.035 }
"""


@pytest.fixture(scope="module")
def base(tmp_path_factory: pytest.TempPathFactory) -> Base:
    path = write_study(tmp_path_factory.mktemp("case"), MATERIALS, OUTBOARD)
    return base_of_case(load(path), "leaky")


def wall_at(base: Base, name: str, value: Any, at: str | None = None) -> Wall:
    place = slot(name, base, at)
    return wall_of(place.put(base.tables, place.read(value))["wall"], "leaky")


def test_the_outboard_share_moves_resistance_and_keeps_its_sum(base: Base) -> None:
    # R = 0.05/0.025 + 0.14/0.035 = 2 + 4 = 6 m2K/W, half of it on each side:
    # 3 * 0.025 = 75 mm and 3 * 0.035 = 105 mm
    wall = wall_at(base, "outboard_share", "50 %")
    assert wall.layer("board").thickness == pytest.approx(0.075, rel=1e-12)
    assert wall.layer("batt").thickness == pytest.approx(0.105, rel=1e-12)


def test_a_share_of_none_leaves_the_layer_out(base: Base) -> None:
    none, all_of_it = wall_at(base, "outboard_share", 0.0), wall_at(base, "outboard_share", 1.0)
    assert "board" not in [layer.name for layer in none.solids]
    assert "batt" not in [layer.name for layer in all_of_it.solids]
    assert all_of_it.layer("board").thickness == pytest.approx(6.0 * 0.025, rel=1e-12)


def test_resistances_are_set_by_thickness(base: Base) -> None:
    # R-10 is 10 * 0.17611 m2K/W (exact units)
    r10 = 10 * 0.0254 * 12 * 0.0254 * 12 * 3600 * 5 / 9 / 1055.05585262
    assert wall_at(base, "outboard_R", "R-10").layer("board").thickness == pytest.approx(
        r10 * 0.025, rel=1e-12
    )
    assert wall_at(base, "cavity_R", 2.0).layer("batt").thickness == pytest.approx(0.07, rel=1e-12)
    by_path = wall_at(base, "layers.board.resistance", 2.5)
    assert by_path.layer("board").thickness == pytest.approx(2.5 * 0.025, rel=1e-12)


def test_one_r_is_one_thickness_whichever_key_has_it(tmp_path: Path) -> None:
    # at 10 °C wool of the library conducts less than at the 24 °C of its rating
    rated = (
        'material = "outer", name = "board", thickness = "50 mm"',
        'material = "mineral-wool-board", name = "board", resistance = "R-15"',
    )
    path = write_study(tmp_path, MATERIALS, OUTBOARD, rated)
    wool = base_of_case(load(path), "leaky")
    written = wool.wall.layer("board").thickness
    assert wall_at(wool, "outboard_R", "R-15").layer("board").thickness == pytest.approx(written)
    by_path = wall_at(wool, "layers.board.resistance", "R-15")
    assert by_path.layer("board").thickness == pytest.approx(written)
    assert TRADE["outboard_R"].now("outboard_R", wool, None) == pytest.approx(15 * R_IP)


def test_leaks_sheets_gap_start_and_orientation_go_where_they_belong(base: Base) -> None:
    assert wall_at(base, "rain_leak", "3 %").leaks.rain[0].fraction == pytest.approx(0.03)
    assert wall_at(base, "gap_air_change", 40).gaps[0].air_change == 40.0
    # 1 perm = 57.2 ng/(Pa s m2)
    outer = wall_at(base, "outer_permeance", "10 perm").layers
    assert float(outer[3].material.permeance.permeance(0.5)) == pytest.approx(572e-12)
    inner = wall_at(base, "inner_permeance", "2 perm").layers
    assert float(inner[-1].material.permeance.permeance(0.5)) == pytest.approx(114.4e-12)
    assert wall_at(base, "orientation", "SW").azimuth == 225.0
    started = wall_at(base, "start_moisture", "20 %")
    assert started.layer("sheathing").initial.moisture_content == pytest.approx(0.20)
    leak = base.tables["wall"]["leaks"]["rain"]
    assert wall_at(base, 'wall."leaky".leaks.rain.fraction', "2 %").leaks.rain[0].fraction == 0.02
    assert leak[0]["fraction"] == 0.01  # the base itself is never changed


def test_an_air_leak_by_pressure_becomes_a_rate(base: Base) -> None:
    leaks = {"rain": [], "wetting": [], "air": [{"at": "sheathing", "permeance": 1e-5}]}
    tables = changed(base.tables, ("wall", "leaks"), leaks)
    put = slot("rain_leak", base).put  # no air leak in this wall
    assert put(base.tables, 0.0)["wall"]["leaks"]["rain"][0]["fraction"] == 0.0
    from dataclasses import replace

    other = replace(base, tables=tables)
    wall = wall_at(other, "air_leak", "0.2 L/(s.m2)")
    assert wall.leaks.air[0].rate == pytest.approx(2e-4)
    assert wall.leaks.air[0].permeance is None


def year(T: np.ndarray, rh: float) -> Outdoor:
    time = np.datetime64("2001-01-01T00", "h") + np.arange(8761)
    return Outdoor(time.astype("datetime64[ns]"), T, rh * saturation_pressure(T))


def test_any_room_is_brought_to_a_mean_humidity_in_winter(base: Base) -> None:
    hour = np.arange(8761)
    outdoor = year(275.0 - 12.0 * np.cos(2 * np.pi * hour / 8760), 0.8)
    cold = np.isin(
        (outdoor.time.astype("datetime64[M]").astype(int)) % 12, (0, 1, 11)
    )  # a cosine with its least at 1 January: December, January, February
    from dataclasses import replace

    for name in ("en15026_high", "iso13788_class3", "dwelling_normal"):
        room = hygro.get_room(name)
        other = replace(base, room=room, tables={**base.tables, "room": _plain(room)})
        place = slot("winter_rh", other)
        found = room_of(place.put(other.tables, place.read("42 %"))["room"], {}).climate(outdoor)
        rh = found.vapour_pressure / saturation_pressure(found.temperature, over="water")
        assert rh[cold].mean() == pytest.approx(0.42, abs=1e-9)
        plain = room.climate(outdoor)
        excess = found.vapour_pressure - outdoor.vapour_pressure
        ratio = excess / (plain.vapour_pressure - outdoor.vapour_pressure)
        assert np.ptp(ratio) < 1e-6  # one factor for all hours


def _plain(room: object) -> Any:
    from hygro.declare import plain

    return plain(room)


@pytest.mark.parametrize("layer", ["sheathing", "batt", "cladding"])
def test_factors_multiply_whole_curves(base: Base, layer: str) -> None:
    before = base.wall.layer(layer).material

    def after(wanted: str, x: float) -> Any:
        return wall_at(base, f"factor.{layer}.{wanted}", x).layer(layer).material

    w, rh = np.linspace(0.0, 60.0, 7), np.linspace(0.05, 0.95, 7)
    k = after("conductivity", 1.2).thermal.conductivity(w)
    assert k == pytest.approx(1.2 * before.thermal.conductivity(w))
    vapour = after("vapour", 1.5).vapour.permeability(rh)
    assert 1.5 * vapour == pytest.approx(before.vapour.permeability(rh))


def test_absorption_scales_liquid_transport_by_its_square(base: Base) -> None:
    # D = (pi/4) (A/w_f)^2 for a sharp front: twice A, four times D
    before = base.wall.layer("cladding").material.liquid
    after = wall_at(base, "factor.cladding.absorption", 2.0).layer("cladding").material.liquid
    w = np.linspace(20.0, 200.0, 5)
    assert getattr(after, after.driving)(w) == pytest.approx(
        4.0 * getattr(before, before.driving)(w)
    )


def test_sorption_scales_the_water_at_a_humidity(base: Base) -> None:
    before = base.wall.layer("sheathing").material
    after = wall_at(base, "factor.sheathing.sorption", 1.1).layer("sheathing").material
    assert float(after.water_content(0.7)) == pytest.approx(
        1.1 * float(before.water_content(0.7)), rel=2e-3
    )  # the tail to free saturation, which stays, has a little of it


# Distributions


def phi(z: float) -> float:
    return 0.5 * (1.0 + math.erf(z / math.sqrt(2.0)))


def drawn(base: Base, how: Any, name: str = "factor.sheathing.vapour") -> Any:
    return dimension(name, how, base)


def test_quantiles_are_those_of_the_formulas(base: Base) -> None:
    share = np.array([phi(-1.0), 0.5, phi(1.0)])
    name = "factor.batt.conductivity"
    normal = drawn(base, Normal(1.0, 0.1, (0.5, 1.5)), name)
    # 1e-6: half a millionth of it lies beyond five deviations
    assert normal.at(share) == pytest.approx([0.9, 1.0, 1.1], rel=1e-6)
    log = drawn(base, LogNormal(1.0, 1.3, (0.27, 3.7)), name)
    assert log.at(share) == pytest.approx([1 / 1.3, 1.0, 1.3], rel=1e-6)
    flat = drawn(base, Uniform(0.5, 2.5))
    assert flat.at(np.array([0.25])) == pytest.approx([1.0])
    # triangle from 0.5 over 1 to 2: F(x) = (x - 0.5)^2 / (1.5 * 0.5) up to the mode
    tri = drawn(base, Triangular(0.5, 1.0, 2.0))
    assert tri.at(np.array([0.25**2 / 0.75])) == pytest.approx([0.75])
    given = drawn(base, Samples((0.9, 1.1, 1.0, 1.2)))
    assert given.at(np.array([0.1, 0.3, 0.6, 0.9])).tolist() == [0.9, 1.0, 1.1, 1.2]


def test_truncation_draws_anew_and_does_not_clip(base: Base) -> None:
    dim = drawn(base, Normal(1.0, 0.2, (0.8, 1.4)))
    # F(x) = (Phi(z) - Phi(-1)) / (Phi(2) - Phi(-1))
    share = (phi(0.5) - phi(-1.0)) / (phi(2.0) - phi(-1.0))
    assert dim.at(np.array([share])) == pytest.approx([1.1], rel=1e-9)
    some = dim.at(np.linspace(0.0, 1.0, 1001)[1:-1])
    assert some.min() > 0.8
    assert some.max() < 1.4


def test_points_of_a_longer_sobol_sample_start_with_those_of_a_shorter() -> None:
    assert np.array_equal(shares(3, 64, "sobol", 5), shares(3, 256, "sobol", 5)[:64])


def test_axes_and_draws_are_crossed_and_the_first_varies_slowest(base: Base) -> None:
    dims = [
        dimension("rain_leak", Values(["0 %", "2 %"]), base),
        dimension("factor.batt.conductivity", Uniform(0.9, 1.1), base),
        dimension("orientation", Values(["N", "S"]), base),
    ]
    laid = points(dims, samples=4, method="latin hypercube", seed=3)
    assert laid.shape == (2, 2, 4)
    assert [laid.at(k)[0] for k in (0, 7, 8, 15)] == [0.0, 0.0, 2.0, 2.0]
    assert [laid.at(k)[2] for k in (0, 4)] == ["N", "S"]
    assert laid.at(0)[1] == laid.at(4)[1] == laid.at(8)[1]  # the same draws everywhere


def test_many_values_settle_as_each_by_itself(base: Base) -> None:
    how = Uniform("0 degC", "30 degC")
    dim = dimension("layers.sheathing.initial.temperature", how, base)
    values = np.linspace(0.0, 30.0, 2501).tolist()
    assert settle_many(dim, values)[::500] == pytest.approx([v + 273.15 for v in values[::500]])


def test_a_range_of_equal_ratios(base: Base) -> None:
    dim = dimension("gap_air_change", Range(1, 100, 3, "ratio"), base)
    assert dim.values == pytest.approx([1.0, 10.0, 100.0])


@pytest.mark.parametrize(
    ("name", "bare", "ip"),
    [
        # an inch is 25.4 mm
        ("layers.board.thickness", (0.0508, 0.1016), ("board: thickness, in", 2.0, 4.0)),
        ("layers.board.thickness", ("50.8 mm", "101.6 mm"), ("board: thickness, in", 2.0, 4.0)),
        # 0 °C are 32 °F, and a kelvin is 1.8 °F
        ("layers.board.initial.temperature", (273.15, 283.15),
         ("board: initial temperature, °F", 32.0, 50.0)),
        ("leaks.rain.fraction", ("0 %", "5 %"), ("rain leak, %", 0.0, 5.0)),
        ("room.temperature", (283.15, 293.15), ("room: temperature, °F", 50.0, 68.0)),
        # 1 Btu/(h·ft²·°F) is 5.678263 W/(m²·K)
        ("inside.coefficient", (5.678263, 11.356526),
         ("heat transfer coefficient inside, Btu/(h·ft²·°F)", 1.0, 2.0)),
    ],
)  # fmt: skip
def test_a_path_has_the_unit_of_its_field(
    base: Base, name: str, bare: tuple[Any, Any], ip: tuple[str, float, float]
) -> None:
    low, high = bare
    axis = axis_of(dimension(name, Range(low, high, 2), base))
    told = found_in(StudyPoints((axis,), {}, []), "ip").axes[0]
    assert told.label() == ip[0]
    assert told.ends == pytest.approx(ip[1:], rel=1e-5, abs=1e-9)


def test_a_bare_number_of_a_path_has_the_si_unit_of_its_field(base: Base) -> None:
    thick = dimension("layers.board.thickness", Range(0.02, 0.1, 3), base)
    assert (thick.told(0.02), thick.label()) == ("0.02 m", "board: thickness, m")
    assert axis_of(thick).said(0.02) == "0.02 m"
    turned = dimension("azimuth", Values(["N", "SW"]), base)
    assert (turned.told("SW"), turned.label()) == ("SW", "azimuth")  # words have none
    bare = dimension("layers.board.material.thermal.value", Values([0.03, 0.04]), base)
    assert bare.told(0.03) == "0.03"  # a number of a material: its field has no unit


@pytest.mark.parametrize("name", ["rain_leak", "outboard_R"])
def test_a_wall_without_the_thing_says_so(tmp_path: Path, name: str) -> None:
    plain = base_of_case(load(write_study(tmp_path, "")), "plain")
    with pytest.raises(InputError, match=r"plain.* has no (rain leak|insulation outboard)"):
        slot(name, plain)
