"""An over-filled indoor surface drips: what leaves is counted."""

from __future__ import annotations

import numpy as np

from hygro.material.library import get
from hygro.record import simulate_loads
from hygro.solve.march import run
from hygro.wall.elements import Layer
from hygro.wall.loads import constant_loads
from hygro.wall.surfaces import Outside
from hygro.wall.wall import Wall
from weather.moistair import saturation_pressure

HOURS = 1200


def test_condensate_dripping_indoors_closes_the_balance() -> None:
    parts = (
        Layer(get("limestone"), 0.02, name="stone"),
        Layer(get("eps-graphite"), 0.02, name="foam"),
        Layer(get("aerated-concrete"), 0.02, name="block"),
    )
    wall = Wall("bath", parts, outside=Outside(emissivity=0.0))
    humid = 0.9 * float(saturation_pressure(297.15))
    loads = constant_loads(HOURS, (253.15, 80.0), (297.15, humid))
    result = run(wall, loads)
    dripped = float(result.ledger.drip_inside.sum())
    assert dripped > 0.5  # the block is full long before the end
    assert max(result.closure.values()) <= 1e-8  # round-off of the converged march
    content = result.w @ result.grid.thickness
    book = result.ledger
    came = (book.vapour_outside + book.rain_absorbed + book.vapour_inside - book.drip_inside).sum()
    came -= book.drained.sum()
    # 1e-8 of the water that passed
    assert abs(content[-1] - content[0] - came) <= 1e-8 * np.abs(book.vapour_inside).sum()
    record = simulate_loads(wall, loads)
    np.testing.assert_allclose(
        float(record["drained"][1:].sum()) * 3600.0, dripped + book.drained.sum(), rtol=1e-9
    )  # the record reports it
