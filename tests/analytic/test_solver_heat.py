"""Heat alone against closed forms: step behind a film, periodic transmission, freezing fronts."""

from __future__ import annotations

import numpy as np
import pytest
from plain_materials import growing, held, plain, slab, solid

from hygro.material.storage import VanGenuchten
from hygro.material.thermal import ConstantConductivity
from hygro.proof.references.conduction import step_heat_taken, step_with_coefficient
from hygro.proof.references.stefan import FreezingCase, front_position, heat_extracted, temperature
from hygro.proof.references.transfer_matrix import Layer as MatrixLayer
from hygro.proof.references.transfer_matrix import PeriodicResult, periodic_wall
from hygro.solve.march import run
from hygro.solve.settings import Settings
from hygro.wall.elements import Initial, Layer
from hygro.wall.loads import constant_loads
from hygro.wall.surfaces import Outside
from hygro.wall.wall import Wall

DAY = 24


def test_step_behind_a_film_follows_the_exact_solution() -> None:
    """Carslaw & Jaeger 1959, section 2.7, from memory; 2 m stand for the half space."""
    wall = slab(solid(1.0, 1.6e6), 2.0, Initial(rh=0.5, temperature=293.15), imposed=False)
    loads = held(DAY, (303.15, 0.01), (293.15, 0.01), outdoor_coefficients=(10.0, 1e-12))
    ours = run(wall, loads, cells={"slab": growing(0.002, 1.06, 2.0)})
    for hour in (1, 6, 24):
        share = step_with_coefficient(
            ours.grid.node, 3600.0 * hour, conductivity=1.0, capacity=1.6e6, coefficient=10.0
        )
        # 0.3 % of the 10 K step: the promise of 0.02 K r.m.s. and grid error of 2 mm cells
        np.testing.assert_allclose(ours.T[hour], 293.15 + 10 * share, atol=0.03)
    heat = step_heat_taken(86400.0, conductivity=1.0, capacity=1.6e6, coefficient=10.0)
    assert ours.ledger.energy_outside.sum() == pytest.approx(10 * heat, rel=2e-3)


LAYERS = {
    "concrete": (MatrixLayer(0.20, 1.8, 2.4e6),),
    "framed": (
        MatrixLayer(0.0125, 0.25, 9.0e5),
        MatrixLayer(0.14, 0.040, 3.0e4),
        MatrixLayer(0.011, 0.13, 1.105e6),
        MatrixLayer(0.05, 0.036, 1.0e5),
    ),
}
"""From inside to inside, as ISO 13786 counts them."""


def periodic_run(layers: tuple[MatrixLayer, ...], days: int = 12) -> tuple[complex, complex]:
    """Complex amplitudes of the indoor and outdoor heat flux per K of the outdoor temperature.

    Both are hour means into the wall; the outdoor air swings by 1 K as a sine of one day.
    """
    parts = tuple(
        Layer(solid(x.conductivity, x.capacity), x.thickness, name=f"{k}", initial=Initial(rh=0.01))
        for k, x in enumerate(layers[::-1])
    )
    wall = Wall("periodic", parts, outside=Outside(emissivity=0.0))
    hours = np.arange(days * DAY + 1)
    loads = constant_loads(
        days * DAY, (293.15, 1.0), (293.15, 1.0), outdoor_coefficients=(25.0, 1e-12),
        indoor_coefficients=(1 / 0.13, 1e-12),
    )  # fmt: skip
    loads.outside.temperature[:] += np.cos(2 * np.pi * hours / DAY)
    ours = run(wall, loads, Settings("fine", tolerance=0.02))
    middle = hours[-DAY:] - 0.5
    # joined by lines, a sine sampled hourly keeps sinc² of its amplitude; a mean of an hour sinc
    kept = np.sinc(1 / DAY) ** 3
    turn = np.exp(-2j * np.pi * middle / DAY) * 2 / DAY / kept / 3600
    inside = (ours.ledger.energy_inside[-DAY:] * turn).sum()
    outside = (ours.ledger.energy_outside[-DAY:] * turn).sum()
    return inside, outside


@pytest.mark.parametrize("name", LAYERS)
def test_periodic_transmittance_and_admittance_are_those_of_iso_13786(name: str) -> None:
    """ISO 13786:2007, formulas from memory. Fluxes into the wall: from inside -Y12, outside Y22."""
    hand: PeriodicResult = periodic_wall(
        LAYERS[name], inside_resistance=0.13, outside_resistance=0.04
    )
    inside, outside = periodic_run(LAYERS[name])
    # 0.5 %: second-order grid error at two cells per millimetre of boundary layer, and the higher
    # harmonics of the lines between samples
    assert abs(inside) == pytest.approx(abs(hand.transmittance), rel=5e-3)
    assert np.angle(-inside / hand.transmittance) == pytest.approx(0.0, abs=0.01)
    assert abs(outside) == pytest.approx(abs(hand.admittance_outside), rel=5e-3)
    assert np.angle(outside / hand.admittance_outside) == pytest.approx(0.0, abs=0.01)


FREEZING = FreezingCase(
    frozen_conductivity=1.5,
    liquid_conductivity=1.5,
    frozen_capacity=1.6e6 + 200 * 2100,
    liquid_capacity=1.6e6 + 200 * 4180,
    latent=200 * 3.34e5,
    surface=263.15,
    freezing=273.15,
    initial=273.15,
)


@pytest.mark.parametrize("start", [273.15, 283.15])
def test_freezing_front_follows_neumann(start: float) -> None:
    """Neumann's solution (Carslaw & Jaeger 1959, section 11.2, from memory); one and two phases.

    Pores that empty between 1e4 and 1e5 Pa freeze within about 0.1 K of 0 °C, 1 % of the 10 K that
    drive the front; the table of unfrozen water has points each 0.05 K. Front and heat go with the
    root of that, half a per cent. Spread over 0.2 K instead the front was 0.8 % short.
    """
    case = FREEZING._replace(initial=start)
    material = plain(
        heat_capacity=1600.0,
        pore_volume=0.2,
        storage=VanGenuchten(200.0, ((1.0, 1e-4, 4.0),)),
        thermal=ConstantConductivity(1.5),
    )
    wall = slab(material, 2.0, Initial(rh=1.0, temperature=start), imposed=True)
    loads = held(4 * DAY, (263.15, 1.0), (start, 1.0))
    ours = run(wall, loads, cells={"slab": growing(0.004, 1.01, 2.0)})
    depth, x = ours.grid.node, ours.grid.thickness
    for hour in (24, 96):
        time = 3600.0 * hour
        front = (ours.ice[hour] * x).sum() / 200.0
        assert front == pytest.approx(float(front_position(case, time)), rel=0.005)
        heat = -ours.ledger.energy_outside[:hour].sum()
        assert heat == pytest.approx(heat_extracted(case, time), rel=0.005)
        # one cell of the front's slope, 10 K over 0.2 m, and the freezing range
        np.testing.assert_allclose(ours.T[hour], temperature(case, depth, time), atol=0.4)
