"""The default grid against exact solutions, and one cold wall on four grids.

Owns these runs and what they are compared with; the cases themselves are those of `hygro.proof`,
which run them on grids of their own.
"""

from __future__ import annotations

import numpy as np
from scipy.interpolate import CubicSpline

from benchmarks.error_runs import MONTH, PARTS, TOLERANCE, trace
from benchmarks.error_walls import cases
from hygro.assess import running_mean
from hygro.proof.heat import DRY_RH, NO_VAPOUR, _mean_harmonic, _polygon_harmonic
from hygro.proof.inputs import air, bare, case_wall, definition, porous, solid, table
from hygro.proof.references.transfer_matrix import Layer as Solid
from hygro.proof.references.transfer_matrix import periodic_wall, time_shift
from hygro.proof.years import layer
from hygro.solve.march import run
from hygro.solve.settings import Settings
from hygro.solve.setup import Run
from hygro.wall.elements import Initial, Layer
from hygro.wall.grid import build_grid, split
from hygro.wall.loads import constant_loads
from hygro.wall.surfaces import Inside
from hygro.wall.wall import Wall

BRICK = Solid(thickness=0.365, conductivity=0.6, capacity=1.5e6)
"""Solid brick, rounded."""
R_IN, R_OUT = 0.13, 0.04
"""Surface resistances (ISO 6946). [m²·K/W]"""
DAYS, MEAN, SIZE = 30, 293.15, 5.0
EN_DEPTH = 20.0
"""At 7 d the far end of the half space feels nothing. [m]"""


def brick() -> dict[str, float]:
    """Decrement factor and time shift of 365 mm of brick against the matrix of ISO 13786."""
    like = Wall("brick", (layer("brick", "brick-solid", BRICK.thickness),))
    cells = split(like, build_grid(like), 1)
    dry = solid("brick", BRICK.conductivity, BRICK.capacity)
    part = Layer(dry, BRICK.thickness, name="brick", initial=Initial(DRY_RH, temperature=MEAN))
    wall, state = Wall("brick", (part,), outside=bare()), air(MEAN, DRY_RH)
    loads = constant_loads(
        24 * DAYS, state, state,
        outdoor_coefficients=(1 / R_OUT, NO_VAPOUR), indoor_coefficients=(1 / R_IN, NO_VAPOUR),
    )  # fmt: skip
    loads.outside.temperature[:] += SIZE * np.sin(2.0 * np.pi * np.arange(24 * DAYS + 1) / 24.0)
    got = run(wall, loads, cells=cells)
    through = _mean_harmonic(got.ledger.energy_inside[-24:] / 3600.0) / _polygon_harmonic(SIZE)
    exact = periodic_wall([BRICK], inside_resistance=R_IN, outside_resistance=R_OUT)
    shifts = [time_shift(x) / 3600.0 for x in (-through, exact.transmittance)]
    found = abs(through) / exact.steady
    return {
        "decrement": found,
        "decrement_exact": exact.decrement,
        "decrement_error_percent": 100 * (found / exact.decrement - 1),
        "time_shift_h": shifts[0],
        "time_shift_error_h": (shifts[0] - shifts[1] + 12) % 24 - 12,
        "largest_cell_mm": 1000 * float(got.grid.thickness.max()),
    }


def en15026() -> dict[str, float]:
    """Step into a half space, largest errors of temperature and water content at 7 d."""
    case = "en15026_step"
    data = definition(case)
    start, face = data["initial"], data["surface"]
    initial = Initial(rh=start["humidity"], temperature=start["temperature"])
    part = Layer(porous(case, "concrete"), EN_DEPTH, name="concrete", initial=initial, thick=True)
    wall = Wall(case, (part,), outside=bare(imposed=True), inside=Inside(imposed=True))
    loads = constant_loads(
        7 * 24, air(face["temperature"], face["humidity"]),
        air(start["temperature"], start["humidity"]),
    )  # fmt: skip
    got = run(wall, loads)
    T = _against(got, got.T[-1], case, "reference_temperature.csv", "temperature")
    w = _against(got, got.w[-1], case, "reference_content.csv", "content")
    return {"temperature_K": T, "content_kg_m3": w}


def _against(got: Run, values: np.ndarray, case: str, file: str, name: str) -> float:
    """Largest difference at the points of the reference of 7 d, between nodes by a spline."""
    data = table(case, file)
    pick = data["day"] == 7
    x, exact = data["x"][pick], data[name][pick]
    inside = (x > got.grid.node[0]) & (x < x.max())
    difference = CubicSpline(got.grid.node, values)(x[inside]) - exact[inside]
    return float(np.abs(difference).max())


def hamstad_2() -> dict[str, float]:
    """Isothermal drying: largest relative error at a point and that of the layer's mean. [%]"""
    data, found = table("hamstad_2", "reference.csv"), {}
    sides = [definition("hamstad_2")[side] for side in ("outside", "inside")]
    airs = [air(side["temperature"], side["humidity"]) for side in sides]
    got = run(case_wall("hamstad_2", imposed=True), constant_loads(1000, *airs))
    depth, dx = got.grid.node, got.grid.thickness
    within = (data["x"] > depth[0]) & (data["x"] < depth[-1])
    for hour, mean in MEANS.items():
        exact, ours = data[f"w_{hour}"], CubicSpline(depth, got.w[hour])(data["x"])
        found[f"largest_{hour}h_percent"] = 100 * float(np.abs(ours / exact - 1)[within].max())
        found[f"mean_{hour}h_percent"] = 100 * float(got.w[hour] @ dx / dx.sum() / mean - 1)
    return found


MEANS = {100: 74.8603, 300: 67.6068, 1000: 53.4870}
"""Means of the layer by the same series (head of the reference file). [kg/m³]"""


def cold_cavity() -> dict[str, float]:
    """Highest 30-day mean of the sheathing's moisture content on four grids. [% by mass]"""
    case = cases()["cold cavity"]
    loads, found = case.loads(), {}
    for parts in (1, 2, 4, PARTS):
        got = trace(case, loads, Settings(tolerance=TOLERANCE), parts=parts)
        peak = float(np.nanmax(running_mean(got.mc[:, 0], MONTH)))
        found["N" if parts == 1 else f"N/{parts}"] = 100 * peak
    return found


def exact() -> dict[str, dict[str, float]]:
    """All of them by name."""
    runs = (brick, en15026, hamstad_2, cold_cavity)
    return {one.__name__: one() for one in runs}
