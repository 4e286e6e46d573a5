"""Slopes that come with a formula, against differences of the formula: compiled and not."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from numba import njit

from hygro.solve.dual import Dual, chain, renamed, slope_over, unknown, value, without
from hygro.solve.lanes import WIDTH, LaneArray, least, most, where

of_x, of_y = unknown("x"), unknown("y")
over_x, over_y, over_z = slope_over("x"), slope_over("y"), slope_over("z")
as_z = renamed(x="z")
holding_x = without("x")

FORMULAS: dict[str, Callable[[Any, Any], Any]] = {
    "sum": lambda x, y: 2.0 + x + y - 3.0 * x,
    "difference": lambda x, y: 1.0 - x - (y - x) - 2.0,
    "product": lambda x, y: x * y * y * 0.5,
    "ratio": lambda x, y: (x - 2.0 * y) / (3.0 + x * x) / 7.0,
    "ratio of a number": lambda x, y: 5.0 / (4.0 + y * y) - x / 3.0,
    "negative": lambda x, y: -(x * y) + y,
    "absolute": lambda x, y: abs(x - 2.0 * y) + abs(y),
    "where": lambda x, y: where(x > y, x * x, 3.0 * y),
    "where with a number": lambda x, y: where(x <= 0.1, 1.0, y * x),
    "least": lambda x, y: least(x, y) * x + least(x, 0.3),
    "most": lambda x, y: most(x * y, y) + most(0.2, y),
}
WIDTHS = (1, WIDTH)


def points(width: int) -> np.ndarray:
    return np.random.default_rng(3).normal(0.0, 1.0, (2, width))


def by_differences(formula: Callable[..., Any], x: float, y: float) -> tuple[float, float]:
    h = 1e-6
    return (
        (formula(x + h, y) - formula(x - h, y)) / (2 * h),
        (formula(x, y + h) - formula(x, y - h)) / (2 * h),
    )


def compiled(formula: Callable[..., Any], at: np.ndarray, wanted: tuple[object, ...]) -> np.ndarray:
    inner = njit(formula)
    first, *rest = (njit(w) for w in wanted)
    second = rest[0] if rest else first

    @njit(error_model="numpy")
    def call(at, out):
        f = inner(of_x(at[0]), of_y(at[1]))
        out[0], out[1], out[2] = value(f), first(f), second(f)

    out = np.zeros((3, at.shape[-1]))
    call(LaneArray(at), LaneArray(out))
    return out


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("name", FORMULAS)
def test_slopes_are_those_of_the_formula(name: str, width: int) -> None:
    formula, at = FORMULAS[name], points(width)
    got = compiled(formula, at, (lambda f: over_x(f), lambda f: over_y(f)))
    for k in range(width):
        x, y = at[:, k]
        assert got[0, k] == pytest.approx(formula(x, y), rel=1e-14)
        # differences of 1e-6 leave about 1e-10
        assert got[1:, k] == pytest.approx(by_differences(formula, x, y), rel=1e-8, abs=1e-8)
        plain = formula(Dual(x, {"x": 1.0}), Dual(y, {"y": 1.0}))
        assert [value(plain), over_x(plain), over_y(plain)] == pytest.approx(got[:, k], rel=1e-14)


@pytest.mark.parametrize("width", WIDTHS)
def test_unknowns_are_renamed_and_held(width: int) -> None:
    at = points(width)
    renames = compiled(lambda x, y: as_z(x * y), at, (lambda f: over_z(f), lambda f: over_x(f)))
    assert np.array_equal(renames[1], at[1])
    assert np.all(renames[2] == 0.0)
    holds = compiled(lambda x, y: holding_x(x * y), at, (lambda f: over_x(f), lambda f: over_y(f)))
    assert np.all(holds[1] == 0.0)
    assert np.array_equal(holds[2], at[0])


def test_chain_takes_the_slope_of_a_curve() -> None:
    at = points(WIDTH)
    got = compiled(
        lambda x, y: chain(value(x), 0.0 * value(x) + 4.0, x * y), at, (lambda f: over_x(f),)
    )
    assert np.allclose(got[1], 4.0 * at[1], rtol=1e-14)


def test_a_variable_has_the_slopes_of_both_branches() -> None:
    @njit
    def call(at, out):
        f = of_x(at[0])
        if len(at) > 1:
            f = f * of_y(at[1])
        out[0], out[1] = over_x(f), over_y(f)

    at, out = points(1), np.zeros((2, 1))
    call(LaneArray(at), LaneArray(out))
    assert out[:, 0] == pytest.approx([at[1, 0], at[0, 0]])
