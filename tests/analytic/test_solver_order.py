"""Observed order of the march: two in space and two in time, on smooth problems."""

from __future__ import annotations

import numpy as np
import pytest
from plain_materials import held, plain, slab

from hygro.material.liquid import ConstantDiffusivity
from hygro.material.storage import BForm
from hygro.material.thermal import LinearConductivity
from hygro.material.vapour import ConstantPermeability
from hygro.proof.trials import trials
from hygro.solve.march import run
from hygro.solve.settings import Settings
from hygro.solve.setup import Run
from hygro.wall.elements import Initial
from hygro.wall.loads import Loads
from hygro.wall.wall import Wall

HOURS = 24
LOWEST = 1.8
LIQUID = ConstantDiffusivity(5e-9)


def smooth(liquid: ConstantDiffusivity | None = LIQUID) -> tuple[Wall, Loads]:
    """A coupled problem that is smooth on the coarsest grid: moisture goes 30 mm deep in a day."""
    material = plain(
        storage=BForm(w_free=40.0, b=1.5),
        vapour=ConstantPermeability(1e-10, "air"),
        thermal=LinearConductivity(0.3, 0.01),
        liquid=liquid,
    )
    wall = slab(material, 0.1, Initial(rh=0.7, temperature=293.15), imposed=False)
    loads = held(HOURS, (293.15, 0.7), (293.15, 0.7))
    clock = np.arange(HOURS + 1) / HOURS
    # starts with zero slope, so that the start is smooth as well
    rise = np.sin(np.pi * clock) ** 2
    loads.outside.temperature[:] += 10.0 * rise
    loads.outside.vapour_pressure[:] += 900.0 * rise
    loads.inside.vapour_pressure[:] -= 400.0 * rise
    return wall, loads


def solve(cells: int, settings: Settings, liquid: ConstantDiffusivity | None = LIQUID) -> Run:
    wall, loads = smooth(liquid)
    return run(wall, loads, settings, cells={"slab": np.full(cells, 0.1 / cells)})


def order(values: list[np.ndarray]) -> float:
    """Order from three solutions, each with half the step of the one before."""
    first = np.abs(values[0] - values[1]).max()
    second = np.abs(values[1] - values[2]).max()
    return float(np.log2(first / second))


@pytest.mark.parametrize("liquid", [None, LIQUID], ids=["vapour alone", "vapour and liquid"])
def test_second_order_in_space(liquid: ConstantDiffusivity | None) -> None:
    """Hourly totals through the faces on 20, 40 and 80 cells, with errors in time far below.

    With liquid, vapour from the air becomes liquid at the surface: its heat belongs there and not
    to the middle of the first cell, or the order is one.
    """
    runs = [solve(cells, Settings(tolerance=1e-3), liquid) for cells in (20, 40, 80)]
    assert order([np.cumsum(r.ledger.energy_outside) for r in runs]) >= LOWEST
    assert order([np.cumsum(r.ledger.vapour_outside) for r in runs]) >= LOWEST
    water = [(r.w * r.grid.thickness).sum(axis=1) for r in runs]
    assert order(water) >= LOWEST


def test_second_order_in_time() -> None:
    """Equal steps of 1 h, 30 min and 15 min; the loads are lines within each hour.

    The tolerance is opened so that the longest step rules.
    """
    exact = solve(40, Settings(tolerance=1e-4))
    errors_T, errors_rh = [], []
    for step in (3600.0, 1800.0, 900.0):
        ours = solve(40, Settings(tolerance=100.0, max_step=step))
        errors_T.append(np.sqrt(np.mean((ours.T - exact.T) ** 2)))
        errors_rh.append(np.sqrt(np.mean((ours.rh - exact.rh) ** 2)))
    assert np.log2(errors_T[0] / errors_T[2]) / 2 >= LOWEST
    assert np.log2(errors_rh[0] / errors_rh[2]) / 2 >= LOWEST


def test_error_of_the_adaptive_march_goes_with_its_tolerance() -> None:
    """Error per step of first-order estimate: a hundredth of it, a hundredth of the error."""
    exact = solve(40, Settings(tolerance=1e-5))
    errors = [
        np.sqrt(np.mean((solve(40, Settings(tolerance=x)).T - exact.T) ** 2)) for x in (1, 1e-2)
    ]
    # steps of an hour at most make the error at tolerance 1 smaller than the estimate allows
    assert errors[1] < errors[0] / 10


@pytest.mark.parametrize("name", ["framed", "outboard"])
def test_half_the_tolerance_leaves_half_the_error_in_real_weather(name: str) -> None:
    """What steps leave is of the order of what is aimed at; jumps of the loads are no floor to it.

    Against steps of a hundredth of the default tolerance on the same grid, r.m.s. over cells and
    hours.
    """
    trial = trials(168)[name]

    def found(tolerance: float) -> np.ndarray:
        return run(trial.wall, trial.loads, Settings(tolerance=tolerance)).T

    exact = found(0.01)
    whole, half = (np.sqrt(np.mean((found(x) - exact) ** 2)) for x in (1.0, 0.5))
    assert half < 0.5 * whole
