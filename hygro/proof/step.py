"""EN 15026 step into a half space: our run against two independent solutions, and similarity.

Owns the set-up of this case. The published table is not available: agreement is with a similarity
solution and with an independent integration of the same equations.
"""

from __future__ import annotations

import importlib.util
from typing import Any

import numpy as np
from scipy.interpolate import PchipInterpolator

from hygro.proof.check import Array, Check, Line, Origin, Outcome, Picture, compare, not_run
from hygro.proof.inputs import (
    air,
    bare,
    definition,
    from_surface,
    growing,
    porous,
    reference_module,
    table,
)
from hygro.solve.march import run
from hygro.solve.settings import Settings
from hygro.solve.setup import Run
from hygro.wall.elements import Initial, Layer
from hygro.wall.loads import constant_loads
from hygro.wall.surfaces import Inside
from hygro.wall.wall import Wall

CASE = "en15026_step"
DAYS = (7, 30, 365)
DEPTH = 40.0
"""At 365 d a wall of 20 m still differs from the half space by 0.15 K at its far end. [m]"""
EQUATIONS = "EN 15026:2007 annex A equations (from memory)"
SIMILAR = Origin(f"{EQUATIONS}, similarity solution by collocation", "exact solution")
SUNDIALS = Origin(f"{EQUATIONS}, finite volumes with CVODE", "own independent implementation")
WHY_W = "0.5 % is a fifth of the ±2.5 % that the standard allows (outer limit, from memory)"
WHY_T = "0.02 K is a fifth of what a good sensor resolves; the grid error is a tenth of it"
REFERENCE_GRID = {"first": 1e-4, "growth": 1.03, "largest": 0.25}
"""Half the cells of a coarser trial, which lay 0.3 % from the similarity solution at 7 d. [m]"""


def step() -> Outcome:
    """Profiles at 7, 30 and 365 d against the similarity solution; collapse in x/√t."""
    result = _march()
    content, temperature = (
        table(CASE, "reference_content.csv"),
        table(CASE, "reference_temperature.csv"),
    )
    checks: list[Check] = []
    lines: dict[str, list[Line]] = {"content": [], "temperature": []}
    for day in DAYS:
        for name, ref, values, bound, unit, why in (
            ("content", content, result.w, 0.5, "kg/m³", WHY_W),
            ("temperature", temperature, result.T, 0.02, "K", WHY_T),
        ):
            pick = ref["day"] == day
            x, y = ref["x"][pick], ref[name][pick]
            profile = _profile(result, values[24 * day], _surface()[name])
            checks.append(
                compare(
                    CASE, f"{name} at {day} d", profile(x), y, bound, unit=unit, origin=SIMILAR,
                    reason=why, relative=name == "content", at=x,
                )
            )  # fmt: skip
            fine = np.linspace(0.0, x.max(), 300)
            lines[name] += [Line(f"{day} d", fine, profile(fine)), Line(f"{day} d", x, y, True)]
    checks += _collapse(result)
    pictures = tuple(
        Picture(f"{CASE}_{name}", f"EN 15026 step, {name}", "depth, m", unit, tuple(lines[name]))
        for name, unit in (("content", "water content, kg/m³"), ("temperature", "temperature, K"))
    )
    return Outcome(tuple(checks), pictures)


def step_sundials() -> Outcome:
    """The same profiles against an independent finite-volume integration on a refined grid."""
    name = "profiles at 7, 30, 365 d against finite volumes and CVODE"
    if importlib.util.find_spec("sksundae") is None:
        return Outcome((not_run(CASE, name, "scikit-sundae not installed", SUNDIALS),))
    reference, result = _integrated(), _march()
    x_w, x_T = np.array([0.0025, 0.005, 0.01, 0.02, 0.03, 0.05, 0.08]), np.linspace(0.1, 10, 34)
    checks = []
    for k, day in enumerate(DAYS, start=1):
        for name, there, here, x, bound, unit, why in (
            ("content", reference.content[k], result.w, x_w, 0.5, "kg/m³", WHY_W),
            ("temperature", reference.temperature[k], result.T, x_T, 0.02, "K", WHY_T),
        ):
            surface = _surface()[name]
            theirs = PchipInterpolator(np.r_[0.0, reference.position], np.r_[surface, there])
            ours = _profile(result, here[24 * day], surface)
            checks.append(
                compare(
                    CASE, f"{name} at {day} d, SUNDIALS", ours(x), theirs(x), bound, unit=unit,
                    origin=SUNDIALS, reason=why, relative=name == "content", at=x,
                )
            )  # fmt: skip
    return Outcome(tuple(checks))


def _march() -> Run:
    start, surface = definition(CASE)["initial"], definition(CASE)["surface"]
    initial = Initial(rh=start["humidity"], temperature=start["temperature"])
    wall = Wall(
        CASE,
        (Layer(porous(CASE, "concrete"), DEPTH, name="concrete", initial=initial, thick=True),),
        outside=bare(imposed=True),
        inside=Inside(imposed=True),
    )
    loads = constant_loads(
        24 * max(DAYS),
        air(surface["temperature"], surface["humidity"]),
        air(start["temperature"], start["humidity"]),
    )
    # cells of 0.5 mm at the face: halving them moves the profiles by less than 0.15 %
    cells = {"concrete": growing(DEPTH, 5e-4, 1.08)}
    return run(wall, loads, Settings(min_step=1e-4), cells=cells)


def _surface() -> dict[str, float]:
    """Imposed state of the face."""
    surface = definition(CASE)["surface"]
    content = float(porous(CASE, "concrete").water_content(surface["humidity"]))
    return {"content": content, "temperature": surface["temperature"]}


def _profile(result: Run, values: Array, surface: float) -> PchipInterpolator:
    return from_surface(result.grid, surface, values)


def _collapse(result: Run) -> list[Check]:
    """Profiles at two times over x/√t: an exact test that needs no reference number."""
    origin = Origin("a uniform start and a constant face know x/√t only", "exact solution")
    found = []
    for early, late in ((7, 30), (30, 365)):
        stretch = np.sqrt(late / early)
        # to 1.5 m at the earlier time: all of the moisture front, most of the thermal one
        for name, values, x, bound, unit, why in (
            ("content", result.w, np.linspace(1e-3, 0.03, 60), 0.5, "kg/m³", WHY_W),
            ("temperature", result.T, np.linspace(0.01, 1.5, 60), 0.02, "K", WHY_T),
        ):
            surface = _surface()[name]
            first = _profile(result, values[24 * early], surface)(x)
            second = _profile(result, values[24 * late], surface)(x * stretch)
            found.append(
                compare(
                    CASE, f"{name} over x/√t, {early} d on {late} d", first, second, bound,
                    unit=unit, origin=origin, reason=why, relative=name == "content", at=x,
                )
            )  # fmt: skip
    return found


def _integrated() -> Any:
    """States at the start and at `DAYS` by the finite volumes that made the other references."""
    fv = reference_module("reference_fv")
    case = definition(CASE)
    widths = fv.graded(DEPTH, both=False, **REFERENCE_GRID)
    row = fv.material_row(case["material"]["concrete"])
    wall = fv.Wall(
        widths,
        np.zeros(widths.size, dtype=int),
        np.array([row]),
        fv.Side(imposed=True),
        fv.Side(imposed=True),
    )
    start = np.empty(2 * widths.size)
    start[::2] = case["initial"]["temperature"]
    start[1::2] = np.log(fv.suction_of_humidity(case["initial"]["humidity"]))
    state = [
        *air(case["surface"]["temperature"], case["surface"]["humidity"]),
        *air(case["initial"]["temperature"], case["initial"]["humidity"]),
        0.0,
    ]
    end = 86400.0 * max(DAYS)
    loads = np.array([[0.0, *state], [1.001 * end, *state]])
    times = np.array([0.0, *(86400.0 * d for d in DAYS)])
    return fv.integrate(wall, start, loads, times, rtol=1e-6)
