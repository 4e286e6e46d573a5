"""The equations evaluated once, at a state that is given, against their formulas written out.

No step is taken: what flows into every cell is compared with what crosses its faces.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from single_cells import (
    BETA_IN,
    BETA_OUT,
    BOARD,
    C_ICE,
    C_W,
    CLOSE,
    DELTA,
    DX,
    H_IN,
    H_OUT,
    INDOOR,
    L_F,
    LAMBDA,
    OUTDOOR,
    PER_P,
    RHO_C_AIR,
    T0,
    A,
    B,
    C,
    Cell,
    enthalpy,
    face,
    layer,
    loads_of,
    sat,
    seen,
    surface,
)

from hygro.material import SheetMaterial
from hygro.material.liquid import ConstantDiffusivity
from hygro.material.thermal import ConstantConductivity
from hygro.material.vapour import ConstantPermeability, SheetConstant
from hygro.solve.march import run
from hygro.wall.elements import Gap, Initial, Layer, Membrane
from hygro.wall.leaks import AirLeak, RainLeak
from hygro.wall.surfaces import Outside
from hygro.wall.wall import Wall


def test_three_cells_get_what_crosses_their_faces() -> None:
    got = seen(layer(A, "a"), layer(B, "b"), layer(C, "c"))
    out, in_ = surface(A, OUTDOOR, H_OUT, BETA_OUT), surface(C, INDOOR, H_IN, BETA_IN)
    ab, bc = face(A, B), face(B, C)
    for k in range(2):
        expected = [out[k] - ab[k], ab[k] - bc[k], bc[k] + in_[k]]
        assert got.F[:, k] == pytest.approx(expected, rel=1e-5)
    # the ledger: energy and vapour outside, then inside
    assert got.led[[0, 1, 3, 4], 0] == pytest.approx([*out, *in_], rel=1e-5)


def test_the_sun_warms_and_the_sky_cools_a_surface() -> None:
    wall = (layer(A, "a"), layer(B, "b"))
    given = loads_of(Wall("x", wall))
    given.outside.radiation[:] = 600.0
    got = seen(*wall, eps=0.9, loads={"outside": given.outside})
    energy, g = surface(A, OUTDOOR, H_OUT, BETA_OUT, radiation=600.0, eps=0.9)
    assert got.led[[0, 1], 0] == pytest.approx([energy, g], **CLOSE)


@pytest.mark.parametrize("x", [0.0, 0.25, 1.0])
def test_air_outdoors_is_linear_within_the_hour(x: float) -> None:
    wall = (layer(A, "a"), layer(B, "b"))
    given = loads_of(Wall("x", wall))
    given.outside.temperature[:] = 270.15, 282.15
    given.outside.vapour_pressure[:] = 400.0, 800.0
    got = seen(*wall, x=x, loads={"outside": given.outside})
    air = (270.15 + 12.0 * x, 400.0 + 400.0 * x)
    assert got.led[[0, 1], 0] == pytest.approx(surface(A, air, H_OUT, BETA_OUT), **CLOSE)


def test_a_sheet_adds_its_resistance_between_two_layers() -> None:
    material = SheetMaterial("s", "sheet", "own", SheetConstant(2e-10), thermal_resistance=0.05)
    got = seen(layer(A, "a"), Membrane(material, name="sheet"), layer(B, "b"))
    out = surface(A, OUTDOOR, H_OUT, BETA_OUT)
    q, g = face(A, B, Z=1.0 / 2e-10, R=0.05)
    assert got.F[0] == pytest.approx([out[0] - q, out[1] - g], **CLOSE)


def weight(peclet: float) -> float:
    """Of the upstream cell by exponential fitting (the exact profile of flow and conduction)."""
    return 1.0 / (1.0 - math.exp(-peclet)) - 1.0 / peclet


@pytest.mark.parametrize("air", [3e-4, -3e-4])
def test_air_carries_heat_and_vapour_of_the_upstream_cell(air: float) -> None:
    wall = (layer(A, "a"), layer(B, "b"))
    got = seen(*wall, loads={"air": np.array([air])})
    size = abs(air)
    w = weight(size * RHO_C_AIR * DX / LAMBDA)
    v = weight(size * PER_P * DX / DELTA)
    up, down = (A, B) if air > 0 else (B, A)
    q = air * RHO_C_AIR * (w * up.T + (1 - w) * down.T - T0)
    g = air * PER_P * (v * up.p + (1 - v) * down.p)
    diffused = (A.p - B.p) / (DX / DELTA)
    across = (A.T - B.T) / (DX / LAMBDA) + q + enthalpy(diffused + g, 0.5 * (A.T + B.T) - T0)
    # at the surface it brings the air's state in, or takes the cell's state out
    dry = surface(A, OUTDOOR, H_OUT, BETA_OUT)
    T, p = OUTDOOR if air > 0 else (A.T, A.p)
    came = air * PER_P * p
    energy = dry[0] + air * RHO_C_AIR * (T - T0) + enthalpy(came, T - T0)
    assert got.led[[0, 1], 0] == pytest.approx([energy, dry[1] + came], **CLOSE)
    expected = [energy - across, dry[1] + came - diffused - g]
    # enthalpies of some thousand W/m² leave a few hundred
    assert got.F[0] == pytest.approx(expected, rel=1e-4)


GAP = Gap("gap", 0.020, 50.0, emissivity_outer=0.9, emissivity_inner=0.5)


def gap_network(rate: float, through: float) -> tuple[np.ndarray, np.ndarray, float, float]:
    """Surfaces and air [K], vapour pressures of faces and air [Pa] of a gap between A and B.

    Convection 2·1.25 W/(m²·K) each side, radiation 4σT³-like between grey planes at the
    temperatures of the cells, vapour 7e-9 times the convection; exchanged air is outdoor air.
    """
    k, h = 2 * LAMBDA / DX, 2.5
    grey = 5.670374e-8 / (1 / 0.9 + 1 / 0.5 - 1.0)
    r = grey * (A.T**2 + B.T**2) * (A.T + B.T)
    exchange = rate * 1.2 * 293.15 * 1006.0 / OUTDOOR[0]
    cross = abs(through) * RHO_C_AIR
    up = A if through > 0 else B
    heat = np.array([
        [k + h + r, -r, -h], [-r, k + h + r, -h], [-h, -h, 2 * h + exchange + cross],
    ])  # fmt: skip
    given = [k * A.T, k * B.T, exchange * OUTDOOR[0] + cross * up.T]
    s1, s2, air = np.linalg.solve(heat, given)
    y = 1.0 / (1.0 / (7e-9 * h) + 0.5 * DX / DELTA)
    Gv, m = rate / (461.5 * OUTDOOR[0]), abs(through) * PER_P
    p = (y * A.p + y * B.p + Gv * OUTDOOR[1] + m * up.p) / (2 * y + Gv + m)
    return np.array([s1, s2, air]), np.array([A.p, p, B.p]), k, y


@pytest.mark.parametrize(("rate", "through"), [(2e-3, 0.0), (0.0, 0.0), (1e-3, 2e-4), (0, -2e-4)])
def test_a_gap_is_the_network_of_its_faces_and_its_air(rate: float, through: float) -> None:
    got = seen(layer(A, "a"), GAP, layer(B, "b"), rate=rate, loads={"air": np.array([through])})
    (s1, s2, air), (_, p, _), k, y = gap_network(rate, through)
    latent = 0.5 * (A.T + B.T) - T0
    va, vc = y * (A.p - p), y * (p - B.p)
    qa, qc = k * (A.T - s1) + enthalpy(va, latent), k * (s2 - B.T) + enthalpy(vc, latent)
    if through:
        heat, vapour = through * RHO_C_AIR, through * PER_P
        (Ta, pa), (Tc, pc) = ((A.T, A.p), (air, p)) if through > 0 else ((air, p), (B.T, B.p))
        qa += heat * (Ta - T0) + enthalpy(vapour * pa, latent)
        qc += heat * (Tc - T0) + enthalpy(vapour * pc, latent)
        va, vc = va + vapour * pa, vc + vapour * pc
    assert got.led[0, 0] - got.F[0, 0] == pytest.approx(qa, rel=1e-4)
    assert got.F[1, 0] - got.led[3, 0] == pytest.approx(qc, rel=1e-4)
    assert got.led[1, 0] - got.F[0, 1] == pytest.approx(va, rel=1e-4)
    assert got.F[1, 1] - got.led[4, 0] == pytest.approx(vc, rel=1e-4)


def test_the_record_tells_the_states_of_both_faces_of_a_gap() -> None:
    wall = Wall("x", (layer(A, "a"), GAP, layer(B, "b")), outside=Outside(emissivity=0.0))
    given = loads_of(wall)
    given.gap_rate[:] = 2e-3
    got = run(wall, given, cells={name: np.full(1, DX) for name in "ab"})
    (s1, s2, _), (_, p, _), _, y = gap_network(2e-3, 0.0)
    assert got.interface_T[0, 1] == pytest.approx([s1, s2], abs=1e-4)
    film = 1.0 / (7e-9 * 2.5)
    faces = [p + y * (A.p - p) * film, p + y * (B.p - p) * film]
    assert got.interface_p[0, 1] == pytest.approx(faces, rel=1e-4)


def test_the_record_tells_the_state_between_two_layers() -> None:
    wide = replace(BOARD, thermal=ConstantConductivity(0.4), vapour=ConstantPermeability(6e-11))
    second = Layer(wide, DX, name="b", initial=Initial(rh=B.rh, temperature=B.T))
    wall = Wall("x", (layer(A, "a"), second), outside=Outside(emissivity=0.0))
    got = run(wall, loads_of(wall), cells={name: np.full(1, DX) for name in "ab"})
    # half cells of 0.05 and 0.0125 m²·K/W, 2.5e8 and 0.8333e8 m²·s·Pa/kg
    T = A.T + (B.T - A.T) * 0.05 / 0.0625
    p = A.p + (B.p - A.p) * 2.5 / (2.5 + 2.5 / 3)
    assert got.interface_T[0, 1] == pytest.approx([T, T], abs=1e-6)
    assert got.interface_p[0, 1] == pytest.approx([p, p], rel=1e-5)


D_W = 1e-9


def test_liquid_flows_down_its_content_and_carries_its_enthalpy() -> None:
    liquid = ConstantDiffusivity(D_W)
    wet, damp = Cell(283.15, 0.95), Cell(287.15, 0.6)
    got = seen(layer(wet, "a", liquid=liquid), layer(damp, "b", liquid=liquid),
               layer(damp, "c", liquid=liquid))  # fmt: skip
    g = 285.15 / 293.15 * D_W * 100.0 * (wet.rh - damp.rh) / DX
    q_ab, v_ab = face(wet, damp)
    theta = 285.15 - T0
    # between b and c, alike, nothing flows: all that b gets came from a
    assert got.F[1] == pytest.approx([q_ab + g * C_W * theta, v_ab + g], rel=1e-4)


def test_a_sheet_that_liquid_passes_still_holds_vapour_back() -> None:
    """Between a and b; beyond b nothing differs, so the difference is that of face a | b."""
    liquid = ConstantDiffusivity(D_W)
    wet, damp = Cell(283.15, 0.95), Cell(287.15, 0.6)
    coat = SheetMaterial("s", "sheet", "own", SheetConstant(2e-10), liquid_tight=False)
    layers = [layer(wet, "a", liquid=liquid), layer(damp, "b", liquid=liquid),
              layer(damp, "c", liquid=liquid)]  # fmt: skip
    bare = seen(*layers)
    coated = seen(layers[0], Membrane(coat, name="coat"), *layers[1:])
    half = 0.5 * DX / DELTA
    less = (wet.p - damp.p) * (1.0 / (2.0 * half) - 1.0 / (2.0 * half + 1.0 / 2e-10))
    assert bare.F[1, 1] - coated.F[1, 1] == pytest.approx(less, rel=1e-3)


def unfrozen(celsius: float) -> float:
    """What stays liquid, 100 kg/m³ times the humidity of ice over water, mean of 0.05 K above.

    rh = exp(−L_f·ΔT/(R_v·T0·T)).
    """
    T = T0 + celsius + 0.05 * (np.arange(200) + 0.5) / 200
    return float(np.mean(100.0 * np.exp(-L_F * (T0 - T) / (461.5 * T0 * T))))


def test_enthalpy_counts_water_and_the_ice_in_it() -> None:
    cold, warm = Cell(263.15, 0.9999), Cell(288.15, 0.8)
    got = seen(layer(cold, "a"), layer(warm, "b"))
    dry = 1000.0 * 1000.0
    ice = 100.0 * cold.rh - unfrozen(-10.0)
    assert 5.0 < ice < 15.0
    water = dry * -10.0 + 99.99 * C_W * -10.0 - ice * (L_F + (C_W - C_ICE) * -10.0)
    assert got.X[0] == pytest.approx([DX * water, DX * 99.99], rel=1e-4)
    assert got.X[1] == pytest.approx([DX * (dry + 80.0 * C_W) * 15.0, DX * 80.0], rel=1e-4)


def test_ice_slows_liquid_by_the_square_of_what_is_left() -> None:
    liquid = ConstantDiffusivity(D_W)
    cold, other = Cell(263.15, 0.9999), Cell(263.15, 0.95)
    got = seen(layer(cold, "a", liquid=liquid), layer(other, "b", liquid=liquid))
    still = unfrozen(-10.0)
    shares = [(min(still, 100.0 * c.rh) / (100.0 * c.rh)) ** 2 for c in (cold, other)]
    g = shares[0] * shares[1] * 263.15 / 293.15 * D_W * 100.0 * (cold.rh - other.rh) / DX
    # vapour pressure of both is that of ice: nothing flows as vapour
    flow = got.led[1, 0] + got.led[2, 0] - got.F[0, 1]
    assert flow == pytest.approx(g, rel=2e-3)


def test_leaks_bring_water_and_room_air_drops_what_is_beyond_saturation() -> None:
    wall = (layer(A, "a"), layer(B, "b"))
    leaks = [RainLeak("a", 0.01, depth=DX), AirLeak("b", rate=1e-4, depth=DX)]
    got = seen(*wall, leaks=leaks, loads={"source": np.array([[2e-5, 1e-4]])})
    out, ab, in_ = surface(A, OUTDOOR, H_OUT, BETA_OUT), face(A, B), surface(
        B, INDOOR, H_IN, BETA_IN
    )  # fmt: skip
    assert got.F[0, 1] == pytest.approx(out[1] - ab[1] + 2e-5, **CLOSE)
    theta = A.T - T0
    assert got.F[0, 0] == pytest.approx(out[0] - ab[0] + 2e-5 * C_W * theta, **CLOSE)
    # room air of 1300 Pa at 11 °C, saturation 1312 Pa, vapour 656 Pa: nothing drops, nothing dries
    assert got.F[1, 1] == pytest.approx(ab[1] + in_[1], **CLOSE)
    assert got.led[6, 0] == pytest.approx(2e-5, rel=1e-12)


@pytest.mark.parametrize(
    ("rate", "room", "outdoor", "p"),
    # humid room air, dry room air; outdoor air drawn inward, of which the room's is no matter
    [(1e-4, 2000.0, 700.0, 2000.0), (1e-4, 300.0, 700.0, 300.0), (-1e-4, 2000.0, 400.0, 400.0)],
)
def test_leaking_air_is_room_air_outward_and_outdoor_air_inward(
    rate: float, room: float, outdoor: float, p: float
) -> None:
    wall = (layer(A, "a"), layer(B, "b"))
    given = loads_of(Wall("x", wall))
    given.outside.vapour_pressure[:] = outdoor
    given.inside.vapour_pressure[:] = room
    got = seen(*wall, leaks=[AirLeak("a", rate=1e-4, depth=DX)], loads={
        "source": np.array([[rate]]), "outside": given.outside, "inside": given.inside,
    })  # fmt: skip
    drop = abs(rate) * PER_P * (p - (sat(A.T) if p > sat(A.T) else A.p))
    out, ab = surface(A, (OUTDOOR[0], outdoor), H_OUT, BETA_OUT), face(A, B)
    assert got.F[0, 1] == pytest.approx(out[1] - ab[1] + drop, rel=1e-4)
    expected = out[0] - ab[0] + enthalpy(drop, A.T - T0)
    assert got.F[0, 0] == pytest.approx(expected, rel=1e-4)


def test_a_leak_fills_the_room_that_is_left_within_a_minute() -> None:
    tight = Layer(BOARD, DX, name="a", initial=Initial(rh=0.9999, temperature=A.T), film=0.002)
    leak = RainLeak("a", 0.01, depth=DX)
    got = seen(tight, layer(B, "b"), leaks=[leak], loads={"source": np.array([[1e-3]])})
    took, drained = got.cell_led[0, 0], got.cell_led[0, 3]
    assert took + drained == pytest.approx(1e-3, rel=1e-9)
    # free saturation of 100 kg/m³ less 99.99, 10 mm of it, and the film, in 60 s
    assert took == pytest.approx((DX * (100.0 - 99.99) + 0.002) / 60.0, rel=1e-3)
