"""Updates of Newton's method, one by one: how far a cell goes, and when a stage may not close."""

from __future__ import annotations

import pytest

from hygro.material.library import get
from hygro.solve.control import LATE
from hygro.solve.kernels import arrays
from hygro.solve.kernels.newton import go_on, measure
from hygro.solve.setup import prepare
from hygro.solve.turn import Batch, make_batch
from hygro.wall.elements import Layer
from hygro.wall.loads import constant_loads
from hygro.wall.wall import Wall


@pytest.fixture
def wool() -> Batch:
    """Cells of wool at 7 °C, a little beyond free saturation, on their way."""
    wall = Wall("wool", (Layer(get("glass-wool-batt"), 0.05, name="wool"),))
    loads = constant_loads(2, (280.0, 900.0), (280.0, 900.0))
    batch = make_batch((prepare(wall, loads),))
    work = batch.work
    work.T.array[:], work.u.array[:] = 280.0, 1.0005
    work.at.array[arrays.MODE], work.at.array[arrays.RELAX] = arrays.GO, 1.0
    return batch


def moved(batch: Batch, count: int, update: float) -> float:
    """By how much a cell moves that an update of temperature asks to move. [K]"""
    work = batch.work
    before = work.T.array[0, 0]
    work.at.array[arrays.COUNT], work.y.array[:, 0] = count, update
    go_on(work)
    return float(work.T.array[0, 0] - before)


def test_a_cell_that_turns_back_goes_half_as_far(wool: Batch) -> None:
    asked = (1.0, -3.0, -3.0, 10.0, 10.0)
    gone = [moved(wool, count, update) for count, update in enumerate(asked, start=1)]
    assert gone == pytest.approx([1.0, -0.5, -3.0, 1.5, 10.0])


def test_later_on_a_cell_goes_no_further_than_it_last_turned_back(wool: Batch) -> None:
    asked = (4.0, -9.0, -9.0, -0.5, 9.0)
    gone = [moved(wool, LATE + count, update) for count, update in enumerate(asked)]
    assert gone == pytest.approx([4.0, -2.0, -2.0, -0.5, 0.25])


@pytest.mark.parametrize(("update", "owes"), [(-4e-4, False), (-6e-4, True)])
def test_no_stage_closes_where_a_cell_would_owe_water(
    wool: Batch, update: float, owes: bool
) -> None:
    """A cell with 1 g/m² that holds 2 kg/m² more for each unit of potential: half a thousandth."""
    work = wool.work
    work.X.array[:], work.D.array[:], work.y.array[:] = 0.0, 0.0, 0.0
    work.X.array[:, 1], work.D.array[:, 3], work.y.array[:, 1] = 1e-3, 2.0, update
    measure(wool.problem, work, 1.0, 1.0)
    assert work.at.array[arrays.ROUGH, 0] == float(owes)
