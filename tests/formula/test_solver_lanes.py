"""Operations of the lanes against numpy, compiled for one lane and for eight."""

from __future__ import annotations

import operator
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from numba import njit
from scipy.interpolate import PPoly

from hygro.solve.lanes import (
    WIDTH,
    LaneArray,
    Row,
    lane_array,
    least,
    most,
    place_in_4,
    place_in_8,
    read_4,
    read_8,
    row_of_1,
    rows_of_4,
    rows_of_8,
    some,
    where,
    width_of,
)

ROWS = 50
PER = 2.0
WIDTHS = (1, WIDTH)
NAN = float("nan")


def numbers(width: int, seed: int) -> np.ndarray:
    """Signs, sizes, zeros, infinities and what is no number."""
    rng = np.random.default_rng(seed)
    values = rng.normal(0.0, 1.0, (ROWS, width)) * 10.0 ** rng.integers(-8, 8, (ROWS, width))
    values[rng.random(values.shape) < 0.1] = 0.0
    values[rng.random(values.shape) < 0.05] = np.inf
    values[rng.random(values.shape) < 0.05] = NAN
    return values


def compiled(function: Callable[..., Any]) -> Callable[..., np.ndarray]:
    inner = njit(function)

    @njit(error_model="numpy")
    def over_rows(a, b, out):
        for i in range(len(a)):
            out[i] = inner(a[i], b[i])

    def call(a: np.ndarray, b: np.ndarray) -> np.ndarray:
        out = np.empty_like(a)
        over_rows(LaneArray(a), LaneArray(b), LaneArray(out))
        return out

    return call


OPERATIONS = {
    "add": (lambda a, b: a + b, np.add),
    "subtract": (lambda a, b: a - b, np.subtract),
    "multiply": (lambda a, b: a * b, np.multiply),
    "divide": (lambda a, b: a / b, np.divide),
    "negative": (lambda a, b: -a + 0.0 * b, lambda a, b: -a + 0.0 * b),
    "absolute": (lambda a, b: abs(a - b), lambda a, b: np.abs(a - b)),
    "with numbers": (lambda a, b: 2.0 * a - b / 3.0 + 1, lambda a, b: 2.0 * a - b / 3.0 + 1),
    "least": (lambda a, b: least(a, b), lambda a, b: np.where(a < b, a, b)),
    "most": (lambda a, b: most(a, b), lambda a, b: np.where(a > b, a, b)),
    "where": (lambda a, b: where(a < b, a, 7.0), lambda a, b: np.where(a < b, a, 7.0)),
    "both": (
        lambda a, b: where((a > 0.0) & (b > 0.0), 1.0, 0.0 * 1.0),
        lambda a, b: np.where((a > 0) & (b > 0), 1.0, 0.0),
    ),
    "either, not": (
        lambda a, b: where((a <= 0.0) | ~(b >= 0.0), a, b),
        lambda a, b: np.where((a <= 0) | ~(b >= 0), a, b),
    ),
    "equal": (
        lambda a, b: where(a == 0.0, b, where(b != 0.0, a, 1.0)),
        lambda a, b: np.where(a == 0, b, np.where(b != 0, a, 1.0)),
    ),
}


@pytest.mark.parametrize("name", OPERATIONS)
@pytest.mark.parametrize("width", WIDTHS)
def test_operations_round_as_numpy_does(name: str, width: int) -> None:
    ours, theirs = OPERATIONS[name]
    a, b = numbers(width, 1), numbers(width, 2)
    with np.errstate(all="ignore"):
        expected = theirs(a, b)
    assert np.array_equal(compiled(ours)(a, b), expected, equal_nan=True)


@njit
def _facts(array, out):
    out[0] = width_of(array)
    out[1] = len(array)
    out[2] = some(array[0] > 1.0)
    out[3] = some(array[1] > 1.0)


@pytest.mark.parametrize("width", WIDTHS)
def test_some_width_and_rows(width: int) -> None:
    array = np.zeros((3, width))
    array[1, -1] = 2.0
    out = np.zeros(4)
    _facts(LaneArray(array), out)
    assert out.tolist() == [width, 3, 0, 1]


@njit
def _single_lanes(array, out):
    for i in range(len(array)):
        for c in range(2):
            for k in range(width_of(array)):
                out[i, c, k] = array[i, c, k] + 100.0 * i + 10.0 * c + k


@pytest.mark.parametrize("width", WIDTHS)
def test_single_lanes_are_read_and_written(width: int) -> None:
    array = np.random.default_rng(0).random((4, 2, width))
    out = np.zeros_like(array)
    _single_lanes(LaneArray(array), LaneArray(out))
    i, c, k = np.indices(array.shape)
    assert np.array_equal(out, array + 100.0 * i + 10.0 * c + k)


def _in_two_steps(place: Callable[..., Row], read: Callable[..., Row]) -> Callable[..., Row]:
    @njit
    def rows(tab, at, x, per, last):
        first, local = place(tab, at, x, per, last)
        return read(tab, first, local, per)

    return rows


CURVES = {
    "8": rows_of_8,
    "4": rows_of_4,
    "1": row_of_1,
    "8 in two steps": _in_two_steps(place_in_8, read_8),
    "4 in two steps": _in_two_steps(place_in_4, read_4),
}


def over_table(name: str) -> tuple[int, Callable[..., None]]:
    count, function = int(name[0]), CURVES[name]

    @njit
    def over_rows(tab, at, x, last, out):
        for i in range(len(x)):
            found = function(tab, at[i], x[i], PER, last)
            for k in range(2 * count):
                out[i * 2 * count + k] = found[k]

    return count, over_rows


@pytest.mark.parametrize("name", CURVES)
@pytest.mark.parametrize("width", WIDTHS)
def test_tables_are_piecewise_cubics(name: str, width: int) -> None:
    """Against scipy's piecewise polynomials; outside, the end rows go on."""
    count, over = over_table(name)
    rng = np.random.default_rng(3)
    intervals, start = 20, 24
    rows = rng.normal(size=(intervals, 4, count))
    tab = np.concatenate([np.zeros(start), rows.ravel()])
    x = rng.uniform(-1.0, intervals / PER + 1.0, (ROWS, width))
    out = np.empty((ROWS * 2 * count, width))
    at = np.full((ROWS, width), float(start))
    over(tab, *(LaneArray(v) for v in (at, x)), intervals - 1, LaneArray(out))
    got = out.reshape(ROWS, 2, count, width)
    for c in range(count):
        curve = PPoly(rows[:, ::-1, c].T, np.arange(intervals + 1.0))
        assert np.allclose(got[:, 0, c], curve(PER * x), rtol=1e-12, atol=1e-12)
        assert np.allclose(got[:, 1, c], PER * curve(PER * x, 1), rtol=1e-12, atol=1e-12)


def test_tables_survive_what_is_no_number() -> None:
    tab = np.arange(4.0 * 5)
    out = np.empty((2, 8))
    x = np.full((1, 8), NAN)
    _, over = over_table("1")
    over(tab, LaneArray(np.zeros((1, 8))), LaneArray(x), 4, LaneArray(out))
    assert np.isnan(out).all()


@pytest.mark.parametrize("name", CURVES)
def test_lanes_have_the_bits_of_one_lane(name: str) -> None:
    count, over = over_table(name)
    rng = np.random.default_rng(4)
    tab = rng.normal(size=30 * 4 * count)
    x = rng.uniform(0.0, 30.0 / PER, (ROWS, WIDTH))
    zero, wide = np.zeros_like(x), np.empty((ROWS * 2 * count, WIDTH))
    over(tab, LaneArray(zero), LaneArray(x), 29, LaneArray(wide))
    for k in range(WIDTH):
        narrow = np.empty((ROWS * 2 * count, 1))
        one = LaneArray(x[:, k : k + 1].copy())
        over(tab, LaneArray(zero[:, :1].copy()), one, 29, LaneArray(narrow))
        assert np.array_equal(narrow[:, 0], wide[:, k])


def test_without_the_compiler_one_lane_is_plain_floats() -> None:
    array = LaneArray(np.array([[[1.0], [2.0]]]))
    assert array[0, 1] == 2.0
    array[0, 0] = most(array[0, 1], 5.0)
    assert array.array[0, 0, 0] == 5.0
    tab = np.arange(8.0)
    value, slope = row_of_1(tab, 0.0, 0.75, PER, 1)
    assert value == np.polyval([7.0, 6.0, 5.0, 4.0], 0.5)
    assert slope == PER * np.polyval([21.0, 12.0, 5.0], 0.5)


@pytest.mark.parametrize("rows", range(1, 9))
def test_eight_lanes_lie_in_a_line_of_the_cache(rows: int) -> None:
    array = lane_array(np.arange(16.0 * rows).reshape(rows, 2, 8)).array
    assert array.ctypes.data % 64 == 0
    assert np.array_equal(array.ravel(), np.arange(16.0 * rows))


def test_arrays_without_rows_of_lanes_are_refused() -> None:
    with pytest.raises(ValueError, match="C order"):
        LaneArray(np.zeros((3, 2, 2)).T)
    with pytest.raises(ValueError, match="axes"):
        LaneArray(np.zeros(3))


def test_addition_in_place_makes_a_new_value() -> None:
    def twice(a: object, b: object) -> Any:
        c = a
        c += b
        return a + c

    a, b = numbers(WIDTH, 5), numbers(WIDTH, 6)
    with np.errstate(all="ignore"):
        expected = operator.add(a, a + b)
    assert np.array_equal(compiled(twice)(a, b), expected, equal_nan=True)
