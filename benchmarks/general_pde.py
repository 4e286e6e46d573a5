"""One simple coupled wall in a general-purpose solver of partial differential equations (FiPy).

A 100 mm layer with linear sorption, constant permeability and conductivity, states imposed on both
faces that swing daily. FiPy is no dependency of this project: pip install fipy. It is general
and written for other ends; the comparison says what a special engine is for, not more.
"""

from __future__ import annotations

import inspect
from time import process_time

import matplotlib.pyplot as plt
import numpy as np

from benchmarks.common import YEAR, best_of, machine, save_figure, show_table
from hygro.material import Material
from hygro.material.storage import LinearStorage
from hygro.material.thermal import ConstantConductivity
from hygro.material.vapour import ConstantPermeability
from hygro.solve.march import run
from hygro.solve.setup import Run
from hygro.wall.elements import Initial, Layer
from hygro.wall.loads import Loads, constant_loads
from hygro.wall.surfaces import Inside, Outside
from hygro.wall.wall import Wall
from weather.moistair import saturation_pressure

HOURS, CELLS, THICKNESS = 72, 50, 0.1
SLOPE, DELTA, LAMBDA, CAPACITY = 20.0, 2e-11, 0.2, 5e5
START_T, START_RH = 293.15, 0.6


def surfaces() -> tuple[np.ndarray, np.ndarray]:
    """Temperature [K] and relative humidity [1] of both faces at the hours. (N+1, 2)"""
    day = 2 * np.pi * np.arange(HOURS + 1) / 24
    T = np.stack([START_T - 5 * np.sin(day), np.full(HOURS + 1, START_T)], axis=1)
    rh = np.stack([START_RH + 0.2 * np.sin(day), np.full(HOURS + 1, START_RH)], axis=1)
    return T, rh


def with_engine() -> Run:
    """The wall in this engine."""
    material = Material(
        "m", "m", "idealised", 1000.0, CAPACITY / 1000.0, 0.5, LinearStorage(SLOPE),
        ConstantPermeability(DELTA), ConstantConductivity(LAMBDA),
    )  # fmt: skip
    layer = Layer(material, THICKNESS, name="m", initial=Initial(rh=START_RH, temperature=START_T))
    wall = Wall("m", (layer,), outside=Outside(imposed=True, emissivity=0.0),
                inside=Inside(imposed=True))  # fmt: skip
    return run(wall, engine_loads(), cells={"m": np.full(CELLS, THICKNESS / CELLS)})


def engine_loads() -> Loads:
    """Loads of the engine for `surfaces`."""
    T, rh = surfaces()
    loads = constant_loads(HOURS, (START_T, 1.0), (START_T, 1.0))
    p = rh * saturation_pressure(T, over="iso13788")
    for k, side in enumerate((loads.outside, loads.inside)):
        side.temperature[:], side.vapour_pressure[:] = T[:, k], p[:, k]
    return loads


def with_fipy(steps_per_hour: int = 2) -> tuple[np.ndarray, np.ndarray]:
    """The wall in FiPy: implicit Euler, swept until the couplings settle."""
    from fipy import CellVariable, DiffusionTerm, FaceVariable, Grid1D, TransientTerm, Variable

    mesh = Grid1D(nx=CELLS, dx=THICKNESS / CELLS)
    T = CellVariable(mesh=mesh, value=START_T, hasOld=True)
    rh = CellVariable(mesh=mesh, value=START_RH, hasOld=True)
    across, along = FaceVariable(mesh=mesh), FaceVariable(mesh=mesh)
    water = TransientTerm(SLOPE, var=rh) == DiffusionTerm(along, var=rh) + DiffusionTerm(
        across, var=T
    )
    latent = 2.5e6
    heat = TransientTerm(CAPACITY, var=T) == DiffusionTerm(
        LAMBDA + latent * across, var=T
    ) + DiffusionTerm(latent * along, var=rh)
    both = water & heat
    T_at, rh_at = surfaces()
    held = [Variable(value=float(x)) for x in (*T_at[0], *rh_at[0])]
    for variable, (left, right) in ((T, held[:2]), (rh, held[2:])):
        variable.constrain(left, mesh.facesLeft)
        variable.constrain(right, mesh.facesRight)
    out_T, out_rh = [T.value.copy()], [rh.value.copy()]
    for step in range(HOURS * steps_per_hour):
        x = (step + 1) / steps_per_hour
        hours = np.arange(HOURS + 1)
        for variable, values in zip(held, np.hstack([T_at, rh_at]).T, strict=True):
            variable.setValue(float(np.interp(x, hours, values)))
        T.updateOld()
        rh.updateOld()
        for _ in range(2):
            face_T, face_rh = T.faceValue.value, rh.faceValue.value
            p = saturation_pressure(face_T, over="iso13788")
            up = saturation_pressure(face_T + 1e-3, over="iso13788")
            along.setValue(DELTA * p)
            across.setValue(DELTA * face_rh * (up - p) / 1e-3)
            both.sweep(dt=3600.0 / steps_per_hour)
        if (step + 1) % steps_per_hour == 0:
            out_T.append(T.value.copy())
            out_rh.append(rh.value.copy())
    return np.array(out_T), np.array(out_rh)


def main() -> None:
    print(machine())
    with_engine()
    seconds, ours = best_of(5, with_engine)
    rows = [["this engine", seconds * YEAR / HOURS, "-", "-", _lines(with_engine)]]
    drawn = {}
    for steps in (1, 4):
        begin = process_time()
        T, rh = with_fipy(steps)
        took = process_time() - begin
        drawn[steps] = rh
        errors = [float(np.sqrt(np.mean((a - b) ** 2))) for a, b in ((T, ours.T), (rh, ours.rh))]
        rows.append([f"FiPy, {steps} per hour", took * YEAR / HOURS, *errors, _lines(with_fipy)])
    heads = ["solver", "s/year", "rms T against engine", "rms rh", "lines for the wall"]
    show_table("one coupled layer of 50 cells", heads, rows)
    figure, field = plt.subplots(figsize=(6, 3))
    x = 1000 * ours.grid.node
    field.plot(x, ours.rh[-7], label="this engine")
    for steps, rh in drawn.items():
        field.plot(x, rh[-7], "--", label=f"FiPy, {steps} steps per hour")
    field.set_xlabel("depth [mm]")
    field.set_ylabel("relative humidity [1]")
    field.legend()
    save_figure(figure, "general_pde")


def _lines(function: object) -> int:
    return len(inspect.getsource(function).splitlines())


if __name__ == "__main__":
    main()
