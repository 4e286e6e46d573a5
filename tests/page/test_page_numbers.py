"""Numbers on their way into the page: packed without loss, few enough letters."""

from __future__ import annotations

import gc
import weakref
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from hygro.errors import InputError
from hygro.page.gather import Gathered, gather
from hygro.page.pack import pack, unpack
from hygro.page.report import html
from hygro.page.subject import Subject
from hygro.record import load

STEP = 0.1
WHOLE = st.integers(-32767, 32767)


@given(arrays(np.int64, st.tuples(st.integers(1, 40), st.integers(1, 4)), elements=WHOLE))
def test_whole_steps_come_back_as_they_were(numbers: np.ndarray) -> None:
    values = numbers * STEP
    values[0, 0] = np.nan
    np.testing.assert_allclose(unpack(pack(values, STEP)), values, rtol=0, atol=1e-9)


def test_values_between_steps_are_off_by_half_a_step_at_most() -> None:
    values = np.linspace(-30.0, 30.0, 997)[:, None]
    assert np.abs(unpack(pack(values, STEP)) - values).max() <= STEP / 2 + 1e-9


def test_a_value_beyond_the_range_is_refused() -> None:
    with pytest.raises(InputError, match="pack"):
        pack([[3277.0]], STEP)


def test_of_a_record_no_field_is_kept(results: Path) -> None:
    """A hundred records fit into memory: what is gathered does not hold the Dataset."""
    ds = load(results / "plain.nc")
    alive = weakref.ref(ds)
    found = gather([ds])
    del ds
    gc.collect()
    assert found.walls
    assert alive() is None


def test_eight_walls_over_ten_years_are_at_most_5_mb(results: Path) -> None:
    """Bound of the task of the page; the years are those of one run, each with other noise."""
    found = gather(sorted(results.glob("*.nc")))
    item = next(x for x in found.walls if x.name == "leaky")
    rng = np.random.default_rng(1)

    def longer(values: np.ndarray | None, by: float) -> np.ndarray | None:
        if values is None:
            return None
        many = np.tile(values, (10, *[1] * (values.ndim - 1)))
        return many * (1.0 + by * rng.standard_normal(many.shape))

    def years(trace):
        start = np.datetime64(trace.day[0])
        names = ("moisture", "mould", "humidity", "temperature", "outdoor", "water")
        return trace._replace(
            day=start + np.arange(10 * len(trace.day)),
            **{name: longer(getattr(trace, name), 0.01) for name in names},
        )

    def field(part):
        fields = {k: longer(v, 0.001)[::12] for k, v in part.field.fields.items()}
        return replace(part, field=replace(part.field, step=72, fields=fields),
                       trace=years(part.trace))  # fmt: skip

    walls, evidence = [], {}
    for k in range(8):
        name = f"wall {k}"
        outcomes = tuple(
            replace(o, run=replace(o.run, name=name), trace=years(o.trace)) for o in item.outcomes
        )
        walls.append(replace(item, name=name, outcomes=outcomes))
        evidence[name] = {q: field(part) for q, part in found.evidence["leaky"].items()}
    page = html(Subject(Gathered(tuple(walls), evidence)))
    assert len(page.encode()) <= 5e6
