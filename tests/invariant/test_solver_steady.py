"""The steady state of the march is the hand calculation; heat and vapour flow downhill."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st

from hygro.material import Material, SheetMaterial
from hygro.material.storage import LinearStorage
from hygro.material.thermal import ConstantConductivity
from hygro.material.vapour import ConstantPermeability, SheetConstant
from hygro.solve.march import run
from hygro.solve.setup import Run
from hygro.wall.elements import Gap, Initial, Layer, Membrane
from hygro.wall.loads import LEWIS, constant_loads
from hygro.wall.steady import SteadyLayer, SteadyWall, steady_state, u_value
from hygro.wall.surfaces import Inside, Outside
from hygro.wall.wall import Wall

H_OUT, H_IN = 25.0, 7.69
BETA_OUT, BETA_IN = LEWIS * 25.0, LEWIS * 2.5
# vapour carries enthalpy: 2.5e6 J/kg times the fluxes here (1e-8 kg/(m²·s)) is 0.02 W/m² that the
# hand calculation does not know; with hardly any vapour flow the temperatures are those by hand
TIGHT = 1e-4


def inert(key: str, conductivity: float, permeability: float) -> Material:
    """Constant properties and little storage, so that the steady state comes soon."""
    return Material(
        key=key,
        name=key,
        group="idealised",
        density=20.0,
        heat_capacity=1000.0,
        pore_volume=0.5,
        storage=LinearStorage(slope=0.01),
        vapour=ConstantPermeability(permeability),
        thermal=ConstantConductivity(conductivity),
    )


def three_layers(scale: float = 1.0) -> Wall:
    start = Initial(rh=0.5)
    parts = (
        Layer(inert("a", 0.2, 2e-12 * scale), 0.02, name="outer", initial=start),
        Layer(inert("b", 0.04, 1e-10 * scale), 0.1, name="middle", initial=start),
        Layer(inert("c", 0.25, 2e-11 * scale), 0.0125, name="inner", initial=start),
    )
    return Wall("three layers", parts, outside=Outside(emissivity=0.0))


def by_hand(wall: Wall, *, T_o: float, p_o: float, T_i: float, p_i: float):
    layers = tuple(
        SteadyLayer(
            x.name,
            x.thickness / x.material.thermal.value,
            x.thickness / x.material.vapour.value,
        )
        for x in wall.solids
    )
    hand = SteadyWall(layers, 1 / H_OUT, 1 / H_IN, 1 / BETA_OUT, 1 / BETA_IN)
    return hand, steady_state(hand, T_o=T_o, p_o=p_o, T_i=T_i, p_i=p_i)


def steady_run(wall: Wall, loads_at: tuple[tuple[float, float], tuple[float, float]]) -> Run:
    loads = constant_loads(
        24 * 60,
        *loads_at,
        outdoor_coefficients=(H_OUT, BETA_OUT),
        indoor_coefficients=(H_IN, BETA_IN),
        gaps=len(wall.gaps),
    )
    return run(wall, loads)


def test_temperatures_and_heat_flow_are_those_by_hand() -> None:
    outdoor, indoor = (268.15, 300.0), (294.15, 900.0)
    wall = three_layers(TIGHT)
    ours = steady_run(wall, (outdoor, indoor))
    hand, state = by_hand(wall, T_o=268.15, p_o=300.0, T_i=294.15, p_i=900.0)
    planes = [ours.interface_T[-1, k].mean() for k in range(4)]
    # 1e-6 of the 26 K between the airs
    np.testing.assert_allclose(planes, state.temperature[1:-1], atol=2.6e-5)
    flux = ours.ledger.energy_inside[-1] / 3600
    # 26 K times the trace of vapour enthalpy left: 1e-5 of the flux
    assert flux == pytest.approx(26.0 * u_value(hand), rel=1e-5)
    assert u_value(hand) == pytest.approx(1 / (1 / 25 + 0.1 + 2.5 + 0.05 + 1 / 7.69), rel=1e-12)


def test_vapour_pressures_and_vapour_flow_are_those_by_hand() -> None:
    """Isothermal at 20 °C to first order: evaporation moves temperatures by less than 0.01 K, and
    with a constant permeability vapour pressures know no temperature.
    """
    outdoor, indoor = (293.15, 700.0), (293.15, 1500.0)
    wall = three_layers()
    ours = steady_run(wall, (outdoor, indoor))
    hand, state = by_hand(wall, T_o=293.15, p_o=700.0, T_i=293.15, p_i=1500.0)
    planes = [ours.interface_p[-1, k].mean() for k in range(4)]
    np.testing.assert_allclose(planes, state.vapour_pressure[1:-1], rtol=1e-6)
    resistance = sum(layer.Z for layer in hand.layers) + hand.Z_se + hand.Z_si
    assert ours.ledger.vapour_inside[-1] / 3600 == pytest.approx(800.0 / resistance, rel=1e-6)
    assert ours.ledger.vapour_outside[-1] / 3600 == pytest.approx(-800.0 / resistance, rel=1e-6)


def test_sheet_adds_its_resistance() -> None:
    wall = three_layers()
    sheet = SheetMaterial("s", "s", "test", SheetConstant(1e-10))
    parts = (*wall.solids[:2], Membrane(sheet, name="sheet"), wall.solids[2])
    ours = steady_run(
        Wall("sheet", parts, outside=wall.outside), ((293.15, 700.0), (293.15, 1500.0))
    )
    hand, _ = by_hand(wall, T_o=293.15, p_o=700.0, T_i=293.15, p_i=1500.0)
    total = sum(layer.Z for layer in hand.layers) + hand.Z_se + hand.Z_si + 1e10
    flow = ours.ledger.vapour_inside[-1] / 3600
    assert flow == pytest.approx(800.0 / total, rel=1e-6)
    drop = ours.interface_p[-1, 2, 1] - ours.interface_p[-1, 2, 0]
    assert drop == pytest.approx(flow * 1e10, rel=1e-6)


def test_closed_gap_has_the_resistance_of_convection_and_radiation() -> None:
    """Surface to surface: 1.25 W/(m²·K) for a 25 mm gap (ISO 6946) plus E 4 sigma T_m³."""
    layers = three_layers(TIGHT).solids
    wall = Wall("gap", (layers[0], Gap("gap", 0.025), layers[2]), outside=Outside(emissivity=0.0))
    ours = steady_run(wall, ((278.15, 300.0), (288.15, 300.0)))
    inner, outer = ours.interface_T[-1, 1, 1], ours.interface_T[-1, 1, 0]
    grey = 1 / (1 / 0.9 + 1 / 0.9 - 1)
    middle = 0.5 * (inner + outer)
    across = 1.25 + grey * 4 * 5.670374e-8 * middle**3
    # the kernel takes the radiation coefficient at the cells beside the gap: 1 % of it
    flux = ours.ledger.energy_inside[-1] / 3600
    assert flux == pytest.approx(across * (inner - outer), rel=0.01)


@hypothesis_settings(max_examples=25, deadline=None, derandomize=True, database=None)
@given(
    st.lists(st.floats(0.02, 2.0), min_size=1, max_size=5),
    st.floats(243.15, 283.15),
    st.floats(288.15, 303.15),
)
def test_steady_interface_temperatures_rise_inward(
    conductivities: list[float], cold: float, warm: float
) -> None:
    start = Initial(rh=0.5)
    parts = tuple(
        Layer(inert(f"{k}", value, 1e-14), 0.03, name=f"{k}", initial=start)
        for k, value in enumerate(conductivities)
    )
    wall = Wall("rising", parts, outside=Outside(emissivity=0.0))
    ours = steady_run(wall, ((cold, 200.0), (warm, 200.0)))
    planes = ours.interface_T[-1].mean(axis=1)
    assert (np.diff([cold, *planes, warm]) > 0).all()


@hypothesis_settings(max_examples=25, deadline=None, derandomize=True, database=None)
@given(
    st.floats(0.02, 2.0), st.floats(243.15, 313.15), st.floats(243.15, 313.15),
    st.floats(243.15, 313.15),
)  # fmt: skip
def test_pure_heat_stays_between_the_extremes(
    conductivity: float, start: float, outdoor: float, indoor: float
) -> None:
    """No source of heat: no temperature outside what start and airs span (maximum principle).

    An L-stable method of second order may overshoot by its local error: 0.08 K a step at default
    tolerance, far less in practice; 0.01 K is asked for.
    """
    material = inert("m", conductivity, 1e-16)
    wall = Wall(
        "heat",
        (Layer(material, 0.1, name="m", initial=Initial(rh=0.1, temperature=start)),),
        outside=Outside(emissivity=0.0),
        inside=Inside(),
    )
    loads = constant_loads(24, (outdoor, 1.0), (indoor, 1.0))
    ours = run(wall, loads)
    low, high = min(start, outdoor, indoor), max(start, outdoor, indoor)
    assert ours.T.min() >= low - 0.01
    assert ours.T.max() <= high + 0.01


def test_conduction_keeps_energy_to_round_off() -> None:
    """What came in is what the wall holds more: capacity times temperature rise, by hand."""
    wall = three_layers(1e-10)
    loads = constant_loads(12, (263.15, 1.0), (293.15, 1.0))
    ours = run(wall, loads)
    capacity = 20.0 * 1000.0 + 4180.0 * ours.w[0]
    held = (capacity * (ours.T[-1] - ours.T[0]) * ours.grid.thickness).sum()
    came = ours.ledger.energy_outside.sum() + ours.ledger.energy_inside.sum()
    through = np.abs(ours.ledger.energy_outside).sum() + np.abs(ours.ledger.energy_inside).sum()
    # recorded temperatures differ from the carried enthalpy by what Newton leaves open, 2e-4 K
    # of 3e3 J/(m²·K)
    assert abs(held - came) <= 2e-4 * 3e3
    assert abs(held - came) <= 1e-4 * through
