"""Observed order of the engine: in space by a manufactured solution, in time against a tight run.

The engine has no volumetric source, so the manufactured sources are added to its semi-discrete
right-hand side (`report.rates`), and LSODA of scipy integrates in time at 1e-9: what is left is
the error in space. In time the march itself is held against LSODA on the same grid.
"""

from __future__ import annotations

import numpy as np
from scipy.integrate import solve_ivp
from scipy.interpolate import CubicSpline

from hygro.constants import ZERO_CELSIUS
from hygro.proof.check import Array, Line, Origin, Outcome, Picture, above, compare
from hygro.proof.inputs import air, bare, porous
from hygro.proof.references import benchmark_material as curves
from hygro.proof.references.manufactured import Manufactured, Material, sources
from hygro.proof.references.physics import CURVE_TEMPERATURE, Constants, suction_from_humidity
from hygro.proof.twin import BAND, SCALE_T, Rhs, right_hand_side
from hygro.solve.march import run
from hygro.solve.settings import Settings
from hygro.solve.tables import potential_at_rh
from hygro.wall.elements import Initial, Layer
from hygro.wall.loads import Loads, constant_loads
from hygro.wall.surfaces import Inside
from hygro.wall.wall import Wall

CASE = "manufactured"
LENGTH, HOURS = 0.02, 48
T_EDGE, RH_EDGE = 293.15, 0.80
LEAST_ORDER = 1.8
"""Second order, less what coarse grids are away from their asymptote. [1]"""
SECOND = "both discretisations are of second order; 0.2 is left to coarse grids and steps"
CELLS = (8, 16, 32, 64)
STEPS = (900.0, 450.0, 225.0, 112.5)
"""Longest steps; the tolerance falls with their square, so that it seldom shortens one. [s]"""


def manufactured() -> Outcome:
    """Coupled nonlinear heat and moisture in benchmark concrete: order in space."""
    problem = _problem()
    errors = np.array([_errors(problem, n) for n in CELLS])
    orders = np.log2(errors[:-1] / errors[1:])
    origin = Origin("manufactured fields T(x,t), rh(x,t) in EN 15026 concrete",
                    "exact solution")  # fmt: skip
    checks = []
    for k, (name, unit, bound) in enumerate((("temperature", "K", 0.02), ("humidity", "1", 5e-4))):
        steps = ", ".join(f"{x:.2f}" for x in orders[:, k])
        checks.append(
            above(
                CASE, f"order in space, {name}", float(orders[-1, k]), LEAST_ORDER, unit="1",
                origin=origin, reason=SECOND, note=f"from {CELLS} cells: {steps}",
            )
        )  # fmt: skip
        checks.append(
            compare(
                CASE, f"r.m.s. error of {name}, {CELLS[-1]} cells", float(errors[-1, k]), 0.0,
                bound, unit=unit, origin=origin, reason="the accuracy promised by default",
            )
        )  # fmt: skip
    size = np.array(CELLS, float)
    lines = [
        Line(name, size, errors[:, k]) for k, name in enumerate(("temperature, K", "humidity"))
    ]
    lines.append(Line("slope 2", size, errors[0, 0] * (size[0] / size) ** 2, True))
    picture = Picture("manufactured_space", "Manufactured solution: error over cells",
                      "cells", "r.m.s. error", tuple(lines), log=True)  # fmt: skip
    return Outcome(tuple(checks), (picture,))


def _problem() -> Manufactured:
    constants = Constants()

    def suction(rh: Array) -> Array:
        return suction_from_humidity(rh, np.asarray(CURVE_TEMPERATURE), constants)

    def content(rh: Array, T: Array) -> Array:  # noqa: ARG001
        return curves.water_content(suction(rh))

    material = Material(
        content,
        lambda rh, T: curves.vapour_permeability(content(rh, T), T, constants),
        lambda rh, T: curves.liquid_conductivity(content(rh, T)),
        lambda rh, T: curves.thermal_conductivity(content(rh, T)),
        curves.DRY_HEAT_CAPACITY,
    )

    def shape(x: Array) -> Array:
        return np.sin(np.pi * x / LENGTH) + 0.3 * np.sin(2.0 * np.pi * x / LENGTH)

    def swing(t: float) -> float:
        return 0.5 + 0.5 * np.sin(2.0 * np.pi * t / (3600.0 * HOURS))

    return Manufactured(
        temperature=lambda x, t: T_EDGE + 8.0 * shape(x) * swing(t),
        humidity=lambda x, t: RH_EDGE + 0.12 * shape(x) * swing(t),
        material=material,
        length=LENGTH,
        duration=3600.0 * HOURS,
        constants=constants,
    )


def _errors(problem: Manufactured, cells: int) -> tuple[float, float]:
    """R.m.s. error of temperature [K] and humidity [1] at the end."""
    wall, loads = _imposed(), constant_loads(1, air(T_EDGE, RH_EDGE), air(T_EDGE, RH_EDGE))
    sizes = np.full(cells, LENGTH / cells)
    rhs, _ = right_hand_side(wall, loads, cells={"concrete": sizes})
    x = (np.arange(cells) + 0.5) * LENGTH / cells
    material = wall.solids[0].material
    y = np.empty(2 * cells)
    y[0::2] = (problem.temperature(x, 0.0) - ZERO_CELSIUS) / SCALE_T
    y[1::2] = [potential_at_rh(material, float(v)) for v in problem.humidity(x, 0.0)]
    added = _sources(problem, x)

    def rates(t: float, y: Array) -> Array:
        out = np.empty_like(y)
        rhs(t, y, out)
        water, heat = sizes[0] * added(t)
        D = rhs.storage
        du = water / D[:, 3]
        out[1::2] += 3600.0 * du
        out[0::2] += 3600.0 / SCALE_T * (heat - D[:, 1] * du) / D[:, 0]
        return out

    found = solve_ivp(
        rates, (0.0, HOURS), y, method="LSODA", rtol=1e-9, atol=1e-10, lband=BAND, uband=BAND
    )
    end = found.y[:, -1]
    T = end[0::2] * SCALE_T + ZERO_CELSIUS
    at_end = problem.humidity(x, 3600.0 * HOURS)
    target = np.array([potential_at_rh(material, float(v)) for v in at_end])
    # drh/du, by which an error of the potential is one of humidity
    near = np.array([potential_at_rh(material, float(v) + 1e-5) for v in at_end])
    miss_T = T - problem.temperature(x, 3600.0 * HOURS)
    return _rms(miss_T), _rms((end[1::2] - target) * 1e-5 / (near - target))


def _sources(problem: Manufactured, x: Array) -> CubicSpline:
    """Moisture and heat sources over the hour; the spline through 481 times is good to 1e-7."""
    times = np.linspace(0.0, HOURS, 481)
    return CubicSpline(times, [np.array(sources(problem, x, 3600.0 * t)) for t in times])


def _rms(values: Array) -> float:
    return float(np.sqrt(np.mean(values**2)))


def _imposed() -> Wall:
    start = Initial(rh=RH_EDGE, temperature=T_EDGE)
    layer = Layer(porous("en15026_step", "concrete"), LENGTH, name="concrete", initial=start)
    return Wall(CASE, (layer,), outside=bare(imposed=True), inside=Inside(imposed=True))


def time_order() -> Outcome:
    """The march at four step lengths against LSODA on the same grid: order in time."""
    wall, loads = _imposed(), _swinging(24)
    cells = {"concrete": np.full(24, LENGTH / 24)}
    reference = _integrated(*right_hand_side(wall, loads, cells=cells), loads)
    steps, errors = [], []
    for longest in STEPS:
        settings = Settings(tolerance=(longest / STEPS[0]) ** 2, max_step=longest)
        result = run(wall, loads, settings, cells=cells)
        steps.append(result.counters["steps"])
        errors.append((_rms(result.T - reference[0]), _rms(result.u - reference[1])))
    origin = Origin(
        "LSODA of scipy at 1e-10 on the engine's own grid", "own equations, other integrator"
    )
    count, found = np.array(steps, float), np.array(errors)
    orders = np.log(found[:-1] / found[1:]) / np.log(count[1:] / count[:-1])[:, None]
    checks = tuple(
        above(
            CASE, f"order in time, {name}", float(orders[-1, k]), LEAST_ORDER, unit="1",
            origin=origin, reason=SECOND,
            note=f"{steps} steps: errors {', '.join(f'{e:.1e}' for e in found[:, k])}",
        )
        for k, name in enumerate(("temperature", "moisture potential"))
    )  # fmt: skip
    lines = [Line(n, count, found[:, k]) for k, n in enumerate(("temperature, K", "potential"))]
    lines.append(Line("slope 2", count, found[0, 0] * (count[0] / count) ** 2, True))
    picture = Picture("manufactured_time", "March against LSODA: error over steps",
                      "steps", "r.m.s. error", tuple(lines), log=True)  # fmt: skip
    return Outcome(checks, (picture,))


def _swinging(hours: int) -> Loads:
    """Imposed states that swing by 10 K and 0.10 in six hours."""
    loads = constant_loads(hours, air(T_EDGE, RH_EDGE), air(T_EDGE, RH_EDGE))
    wave = np.sin(2.0 * np.pi * np.arange(hours + 1) / 6.0)
    for k in range(hours + 1):
        T, p = air(T_EDGE + 10.0 * wave[k], RH_EDGE + 0.10 * wave[k])
        loads.outside.temperature[k], loads.outside.vapour_pressure[k] = T, p
    return loads


def _integrated(rhs: Rhs, y: Array, loads: Loads) -> tuple[Array, Array]:
    """Temperature and potential at every hour; restarts where the loads bend."""
    states = [y]

    def rates(t: float, y: Array) -> Array:
        out = np.empty_like(y)
        rhs(t, y, out)
        return out

    for hour in range(loads.hours):
        rhs.hour = hour
        found = solve_ivp(
            rates, (0.0, 1.0), states[-1], method="LSODA", rtol=1e-10, atol=1e-11, lband=BAND,
            uband=BAND,
        )  # fmt: skip
        states.append(found.y[:, -1])
    table = np.array(states)
    return table[:, 0::2] * SCALE_T + ZERO_CELSIUS, table[:, 1::2]
