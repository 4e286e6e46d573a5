"""Independent finite-volume integration of coupled heat and moisture, for the published cases.

Owns a plain cell-centred scheme and its integration in time by the stiff solver CVODE of
SUNDIALS (scikit-sundae, banded); imports nothing of the package. Written from the equations:

    ∂w/∂t = -∂(g_v + g_l)/∂x      g_v = -δ ∂p_v/∂x,  g_l = K ∂p_suc/∂x
    ∂H/∂t = -∂q/∂x                q = -λ ∂T/∂x + g_v (h_v0 + c_v θ) + g_l c_w θ
    H = (C + w c_w) θ, θ = T - 273.15; w is a function of relative humidity only, the retention
    curve read at 20 °C; p_suc is taken at the local temperature.

Unknowns per cell: T and u = ln ψ, ψ the suction at 20 °C. Not conservative to round-off: mass
and energy close only as well as the time tolerance and the grid, which the two-level runs state.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numba import njit
from sksundae.cvode import CVODE

VAPOUR_GAS = 461.5  # J/(kg K)
AIR_GAS = 287.06  # J/(kg K)
WATER_DENSITY = 1000.0  # kg/m3
WATER_HEAT = 4180.0  # J/(kg K)
VAPOUR_HEAT = 1860.0  # J/(kg K)
AIR_HEAT = 1006.0  # J/(kg K)
EVAPORATION_HEAT = 2.5e6  # J/kg
CURVE_T = 293.15  # K
ZERO_C = 273.15  # K
ATMOSPHERE = 101325.0  # Pa
KELVIN_SCALE = WATER_DENSITY * VAPOUR_GAS * CURVE_T  # Pa
# Storage added near saturation, where w(ψ) is flat, so that the surface of a rained-on wall keeps
# a state: over the 20 e-folds between 1e6 and 1e-3 Pa it holds 2e-4 kg/m3, against 100.
FILM_STORAGE = 1e-5  # kg/m3 per e-fold of suction

NO_LIQUID, POLYNOMIAL, POWER, DIFFUSIVITY = 0, 1, 2, 3
# columns of the material table
WS, C_DRY, LAM0, LAM1, DIVISOR, DELTA, LIQUID = range(7)
TERMS = 7  # 2 x (share, a, n, m)
KPAR = 15  # shift, scale, c0..c5 | K_sat, exponent | D_w
COLUMNS = 23
# columns of the load table
TIME, T_LEFT, P_LEFT, T_RIGHT, P_RIGHT, AIR = range(6)


class Side(NamedTuple):
    """One face: film coefficients, or `imposed` for a state fixed on the surface itself."""

    heat: float = 0.0  # W/(m2 K)
    vapour: float = 0.0  # s/m
    imposed: bool = False


class Wall(NamedTuple):
    """Cells from left to right, their materials and the two faces."""

    width: np.ndarray  # m
    kind: np.ndarray  # row of the material table
    materials: np.ndarray
    left: Side
    right: Side


class Result(NamedTuple):
    """States at the output times."""

    time: np.ndarray  # s
    temperature: np.ndarray  # K, (time, cell)
    content: np.ndarray  # kg/m3
    suction: np.ndarray  # Pa at 20 C
    position: np.ndarray  # m, cell centres
    width: np.ndarray  # m


def material_row(data: dict) -> np.ndarray:
    """Row of the material table from the `[material.NAME]` table of a case file."""
    row = np.zeros(COLUMNS)
    row[WS] = data["saturation_content"]
    row[C_DRY] = data["dry_heat_capacity"]
    row[LAM0], row[LAM1] = data["conductivity"]
    vapour, liquid = data["vapour"], data["liquid"]
    row[DIVISOR] = vapour.get("divisor", 0.0)
    row[DELTA] = vapour.get("permeability", 0.0)
    terms = data["retention"]
    for i in range(2):
        term = terms[i] if i < len(terms) else {"share": 0.0, "a": 1.0, "n": 1.0, "m": 1.0}
        row[TERMS + 4 * i : TERMS + 4 * i + 4] = [term[key] for key in ("share", "a", "n", "m")]
    if liquid["kind"] == "polynomial":
        row[LIQUID] = POLYNOMIAL
        numbers = [liquid["shift"], liquid["scale"], *liquid["coefficients"]]
        row[KPAR : KPAR + len(numbers)] = numbers
    elif liquid["kind"] == "power":
        row[LIQUID] = POWER
        row[KPAR : KPAR + 2] = [liquid["saturated"], liquid["exponent"]]
    elif liquid["kind"] == "diffusivity":
        row[LIQUID] = DIFFUSIVITY
        row[KPAR] = liquid["value"]
    elif liquid["kind"] != "none":
        raise ValueError(
            f"liquid.kind = {liquid['kind']!r}: polynomial, power, diffusivity or none"
        )
    return row


@njit
def saturation(temperature):
    """Saturation pressure, ISO 13788. [Pa]"""
    theta = temperature - ZERO_C
    if theta >= 0.0:
        return 610.5 * math.exp(17.269 * theta / (237.3 + theta))
    return 610.5 * math.exp(21.875 * theta / (265.5 + theta))


@njit
def retention(row, suction):
    """Water content [kg/m3] and its derivative by ln(suction) [kg/m3]."""
    content, slope = 0.0, 0.0
    for i in range(2):
        share = row[TERMS + 4 * i]
        if share > 0.0:
            n, m = row[TERMS + 4 * i + 2], row[TERMS + 4 * i + 3]
            power = (row[TERMS + 4 * i + 1] * suction) ** n
            part = share * (1.0 + power) ** (-m)
            content += part
            slope -= part * m * n * power / (1.0 + power)
    return row[WS] * content, row[WS] * slope


@njit
def liquid_conductivity(row, content, suction, slope):
    """Conductivity for the gradient of suction. [s]"""
    kind = int(row[LIQUID])
    if kind == POLYNOMIAL:
        z = (content - row[KPAR]) * row[KPAR + 1]
        value = 0.0
        for i in range(5, -1, -1):
            value = value * z + row[KPAR + 2 + i]
        return math.exp(value)
    if kind == POWER:
        return row[KPAR] * (content / row[WS]) ** row[KPAR + 1]
    if kind == DIFFUSIVITY:
        return -row[KPAR] * slope / suction
    return 0.0


@njit
def vapour_permeability(row, content, temperature):
    """Permeability for the gradient of vapour pressure. [kg/(m s Pa)]"""
    if row[DIVISOR] > 0.0:
        dry = 1.0 - content / row[WS]
        factor = dry / (0.503 * dry * dry + 0.497)
        # a full pore lets no vapour through; the floor, far below any material, stays divisible
        return max(26.1e-6 / row[DIVISOR] / (VAPOUR_GAS * temperature) * factor, 1e-25)
    return row[DELTA]


@njit
def moist_air_ratio(pressure):
    """Mass of vapour per mass of dry air. [-]"""
    return AIR_GAS / VAPOUR_GAS * pressure / (ATMOSPHERE - pressure)


@njit
def at_time(loads, rain, time, out):
    """Linear loads at a time; the rain of the running interval is constant. [kg/(m2 s)]"""
    last = loads.shape[0] - 1
    k = min(max(np.searchsorted(loads[:, 0], time, side="right") - 1, 0), last - 1)
    share = (time - loads[k, 0]) / (loads[k + 1, 0] - loads[k, 0])
    share = min(max(share, 0.0), 1.0)
    for j in range(loads.shape[1]):
        out[j] = loads[k, j] + share * (loads[k + 1, j] - loads[k, j])
    return rain


@njit
def joint_flux(a, b, width, temp, pv, delta, cond, lam):
    """Moisture from cell a, which conducts liquid, to b, which does not. [kg/(m2 s)]

    In a, water reaches the joint as liquid and as vapour beside each other; the vapour pressure
    at the joint is at most saturation there, and what arrives beyond stays in b.
    """
    half_a, half_b = 0.5 * width[a], 0.5 * width[b]
    heat_a, heat_b = lam[a] / half_a, lam[b] / half_b
    joint = (heat_a * temp[a] + heat_b * temp[b]) / (heat_a + heat_b)
    full = saturation(joint)
    equal = pv[a] / saturation(temp[a]) * full  # of a's pore water at the joint's temperature
    wet = cond[a] * WATER_DENSITY * VAPOUR_GAS * joint / equal / half_a
    dry_a, dry_b = delta[a] / half_a, delta[b] / half_b
    pressure = (wet * equal + dry_a * pv[a] + dry_b * pv[b]) / (wet + dry_a + dry_b)
    pressure = min(pressure, full)
    return wet * (equal - pressure) + dry_a * (pv[a] - pressure)


@njit
def rates(time, y, yp, width, kind, materials, faces, loads, rain):
    """Time derivatives of (T, ln ψ) in each cell; returns heat [W/m2] and absorbed rain.

    `faces` holds (heat, vapour, imposed) of the left and the right face.
    """
    n = width.size
    load = np.empty(6)
    at_time(loads, rain, time, load)
    air = load[AIR]
    flux, heat = np.zeros(n + 1), np.zeros(n + 1)
    w, dw, pv, suc = np.empty(n), np.empty(n), np.empty(n), np.empty(n)
    delta, cond, lam, temp = np.empty(n), np.empty(n), np.empty(n), np.empty(n)
    for i in range(n):
        row = materials[kind[i]]
        temp[i] = y[2 * i]
        psi = math.exp(y[2 * i + 1])
        w[i], dw[i] = retention(row, psi)
        cond[i] = liquid_conductivity(row, w[i], psi, dw[i])
        dw[i] -= FILM_STORAGE
        # the floor only keeps trial states of the integrator, far off, from dividing by zero
        pv[i] = max(math.exp(-psi / KELVIN_SCALE) * saturation(temp[i]), 1e-9)
        suc[i] = psi * temp[i] / CURVE_T
        delta[i] = vapour_permeability(row, w[i], temp[i])
        lam[i] = row[LAM0] + row[LAM1] * w[i]
    for i in range(1, n):
        a, b = width[i - 1], width[i]
        same = kind[i] == kind[i - 1]
        vapour = (pv[i - 1] - pv[i]) / (0.5 * a / delta[i - 1] + 0.5 * b / delta[i])
        if not same and cond[i] == 0.0 and cond[i - 1] > 0.0:
            vapour = joint_flux(i - 1, i, width, temp, pv, delta, cond, lam)
        elif not same and cond[i - 1] == 0.0 and cond[i] > 0.0:
            vapour = -joint_flux(i, i - 1, width, temp, pv, delta, cond, lam)
        liquid = 0.0
        if same and int(materials[kind[i], LIQUID]) == DIFFUSIVITY:
            liquid = -materials[kind[i], KPAR] * (w[i] - w[i - 1]) / (0.5 * (a + b))
        elif same:
            middle = (cond[i - 1] * b + cond[i] * a) / (a + b)
            liquid = middle * (suc[i] - suc[i - 1]) / (0.5 * (a + b))
        elif cond[i] > 0.0 and cond[i - 1] > 0.0:
            liquid = (suc[i] - suc[i - 1]) / (0.5 * a / cond[i - 1] + 0.5 * b / cond[i])
        theta = (temp[i - 1] * b + temp[i] * a) / (a + b) - ZERO_C
        carried = air * moist_air_ratio((pv[i - 1] * b + pv[i] * a) / (a + b))
        flux[i] = vapour + liquid + carried
        conduction = (temp[i - 1] - temp[i]) / (0.5 * a / lam[i - 1] + 0.5 * b / lam[i])
        heat[i] = conduction + liquid * WATER_HEAT * theta + air * AIR_HEAT * theta
        heat[i] += (vapour + carried) * (EVAPORATION_HEAT + VAPOUR_HEAT * theta)
    absorbed = 0.0
    for side in range(2):
        i = 0 if side == 0 else n - 1
        sign = 1.0 if side == 0 else -1.0
        t_air = load[T_LEFT] if side == 0 else load[T_RIGHT]
        p_air = load[P_LEFT] if side == 0 else load[P_RIGHT]
        half = 0.5 * width[i]
        theta = temp[i] - ZERO_C
        liquid, rain_heat = 0.0, 0.0
        if faces[side, 2] > 0.0:
            psi = -KELVIN_SCALE * math.log(p_air / saturation(t_air))
            row = materials[kind[i]]
            ws, slope = retention(row, psi)
            ks = liquid_conductivity(row, ws, psi, slope)
            if int(row[LIQUID]) == DIFFUSIVITY:
                liquid = row[KPAR] * (ws - w[i]) / half
            else:
                liquid = 0.5 * (ks + cond[i]) * (suc[i] - psi * t_air / CURVE_T) / half
            vapour = (p_air - pv[i]) * delta[i] / half
            conduction = (t_air - temp[i]) * lam[i] / half
            theta = 0.5 * (t_air + temp[i]) - ZERO_C
        else:
            vapour = 0.0
            if faces[side, 1] > 0.0:
                # water reaches the evaporating face as vapour and as liquid, beside each other
                joint = delta[i] + cond[i] * WATER_DENSITY * VAPOUR_GAS * temp[i] / pv[i]
                vapour = (p_air - pv[i]) / (1.0 / faces[side, 1] + half / joint)
            conduction = (t_air - temp[i]) / (1.0 / faces[side, 0] + half / lam[i])
            if side == 0 and rain > 0.0:
                row = materials[kind[i]]
                ks = liquid_conductivity(row, row[WS], 1e-9, -1e-30)
                absorbed = min(rain, 0.5 * (ks + cond[i]) * suc[i] / half)
                liquid = absorbed
                rain_heat = absorbed * WATER_HEAT * (t_air - ZERO_C)
        inflow = air * sign > 0.0
        t_flow = t_air if inflow else temp[i]
        p_flow = p_air if inflow else pv[i]
        carried = sign * air * moist_air_ratio(p_flow)
        heat_in = conduction + vapour * (EVAPORATION_HEAT + VAPOUR_HEAT * theta)
        heat_in += rain_heat if rain_heat != 0.0 else liquid * WATER_HEAT * theta
        heat_in += sign * air * AIR_HEAT * (t_flow - ZERO_C)
        heat_in += carried * (EVAPORATION_HEAT + VAPOUR_HEAT * (t_flow - ZERO_C))
        face = 0 if side == 0 else n
        flux[face] = sign * (vapour + liquid + carried)
        heat[face] = sign * heat_in
    for i in range(n):
        gain = -(flux[i + 1] - flux[i]) / width[i]
        warm = -(heat[i + 1] - heat[i]) / width[i]
        theta = temp[i] - ZERO_C
        capacity = materials[kind[i], C_DRY] + WATER_HEAT * w[i]
        yp[2 * i] = (warm - WATER_HEAT * theta * gain) / capacity
        yp[2 * i + 1] = gain / dw[i]
    return heat[0], heat[n], flux[0], flux[n], absorbed


def graded(
    thickness: float, *, first: float, growth: float, largest: float, both: bool = True
) -> np.ndarray:
    """Cell widths that grow geometrically from one end or from both. [m]"""
    reach = 0.5 * thickness if both else thickness
    widths = [first]
    while sum(widths) < reach:
        widths.append(min(widths[-1] * growth, largest))
    part = np.array(widths) * (reach / sum(widths))
    return np.concatenate([part, part[::-1]]) if both else part


def integrate(
    wall: Wall,
    start: np.ndarray,
    loads: np.ndarray,
    times: np.ndarray,
    *,
    rain: np.ndarray | None = None,
    rtol: float = 1e-6,
    max_step: float = 0.0,
) -> Result:
    """March from `start` (T, ln ψ interleaved) through the output times. [s]

    With `rain` (one value per load interval) the march starts anew at each load sample, because
    the rain jumps there; otherwise the loads are continuous and it runs through.

    Raises
    ------
    RuntimeError
        If CVODE gives up.
    """
    faces = np.array([[*map(float, side)] for side in (wall.left, wall.right)])
    widths, kind, table = wall.width, wall.kind, wall.materials
    state, clock = np.array(start, dtype=float), float(times[0])
    out = [state.copy()]
    breaks = [times[-1]] if rain is None else [t for t in loads[1:, 0] if t <= times[-1] + 1e-6]
    tolerance = np.tile([1e-6, 1e-7], widths.size)
    for k, stop in enumerate(breaks):
        water = 0.0 if rain is None else float(rain[k])
        inner = times[(times > clock) & (times <= stop + 1e-6)]
        call = _right_side(widths, kind, table, faces, loads, water)
        found = _stretch(call, state, np.unique([clock, *inner, stop]), rtol, max_step, tolerance)
        wanted = np.isin(found[0], inner)
        out.extend(found[1][wanted])
        state, clock = found[1][-1].copy(), float(stop)
    return _collect(wall, np.asarray(times), np.array(out))


def _stretch(call, state, grid, rtol, max_step, atol) -> tuple[np.ndarray, np.ndarray]:
    """States at the grid times after the first; starts anew, tighter, where CVODE gives up."""
    times, states, tries = [], [], 0
    while grid.size > 1:
        if grid.size == 2:  # of two times CVODE returns each of its own steps between them
            grid = np.array([grid[0], 0.5 * (grid[0] + grid[1]), grid[1]])
        solver = CVODE(
            call,
            method="BDF",
            rtol=rtol / 3.0**tries,
            atol=atol,
            linsolver="band",
            lband=3,
            uband=3,
            max_num_steps=2_000_000,
            max_step=max_step,
        )
        run = solver.solve(grid, state)
        # after a failure the last entry is where CVODE stopped, not an output time
        end = grid.size if run.success else max(len(run.t) - 1, 1)
        good = run.t[1:end]
        states.extend(run.y[1:end])
        times.extend(good)
        if run.success:
            break
        tries = 1 if good.size else tries + 1
        if tries > 4:
            raise RuntimeError(f"after {run.t[-1] / 3600.0:.2f} h: {run.message}")
        keep = 1 + good.size
        state, grid = run.y[keep - 1].copy(), grid[keep - 1 :]
    return np.array(times), np.array(states)


def _right_side(width, kind, table, faces, loads, water):
    """Close `rates` over one stretch of loads, in the form CVODE calls."""

    def right_side(t, y, yp):
        rates(t, y, yp, width, kind, table, faces, loads, water)

    return right_side


def _collect(wall: Wall, times: np.ndarray, states: np.ndarray) -> Result:
    suction = np.exp(states[:, 1::2])
    content = np.empty_like(suction)
    for (k, i), psi in np.ndenumerate(suction):
        content[k, i] = retention(wall.materials[wall.kind[i]], psi)[0]
    centre = np.cumsum(wall.width) - 0.5 * wall.width
    return Result(times, states[:, ::2], content, suction, centre, wall.width)


def boundary_fluxes(wall: Wall, result: Result, loads: np.ndarray, rain: np.ndarray | None = None):
    """Heat at both faces [W/m2], moisture at both faces and absorbed rain [kg/(m2 s)]."""
    faces = np.array([[*map(float, side)] for side in (wall.left, wall.right)])
    rows = []
    for k, time in enumerate(result.time):
        y = np.empty(2 * wall.width.size)
        y[::2], y[1::2] = result.temperature[k], np.log(result.suction[k])
        water = 0.0
        if rain is not None:
            water = float(rain[min(np.searchsorted(loads[:, 0], time, "right") - 1, rain.size - 1)])
        args = wall.width, wall.kind, wall.materials, faces, loads, water
        rows.append(rates(time, y, np.empty_like(y), *args))
    return np.array(rows)


def suction_of_content(row: np.ndarray, content: float) -> float:
    """Suction at 20 °C that holds a water content, by bisection on its logarithm. [Pa]"""
    low, high = math.log(1e-3), math.log(1e12)
    for _ in range(200):
        middle = 0.5 * (low + high)
        low, high = (
            (middle, high) if retention(row, math.exp(middle))[0] > content else (low, middle)
        )
    return math.exp(0.5 * (low + high))


def suction_of_humidity(humidity: float) -> float:
    """Kelvin relation at 20 °C. [Pa]"""
    return -KELVIN_SCALE * math.log(humidity)
