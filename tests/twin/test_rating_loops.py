"""Compiled loops of ratings against the same said in whole arrays, and against plain integers."""

from __future__ import annotations

import hashlib
from pathlib import Path

import numpy as np
import pytest
from assess_records import record

from hygro.assess.course import once
from hygro.assess.decay import brown_rot, rot_of
from hygro.assess.extremes import most_humid, most_water
from hygro.assess.hourly import hourly
from hygro.assess.series import exceedance, peak, running_mean
from hygro.decide.digest import digest_of
from hygro.decide.rate import failed
from hygro.decide.store import Store
from hygro.errors import InputError, RecordError
from hygro.record.check import check_arrays

RNG = np.random.default_rng(7)


@pytest.mark.parametrize("hours", [1, 24, 100, 101])
def test_running_means_are_means_of_slices(hours: int) -> None:
    values = 280.0 + RNG.normal(size=(100, 3))
    found = running_mean(values, hours)
    assert np.isnan(found[: hours - 1]).all()
    for i in range(hours - 1, 100):
        # sums of a hundred differences of about 1 keep some twelve digits
        assert found[i] == pytest.approx(values[i - hours + 1 : i + 1].mean(axis=0), rel=1e-12)


def test_the_first_of_the_highest_is_the_peak_and_what_is_no_number_is_none() -> None:
    stamps = np.datetime64("2031-01-01T00", "ns") + np.arange(5) * np.timedelta64(1, "h")
    assert peak(np.array([np.nan, 2.0, 3.0, 3.0, np.nan]), stamps) == (3.0, stamps[2])
    assert peak(np.full(5, np.nan), stamps).when is None
    assert peak(np.arange(10.0)[::-2], stamps) == (9.0, stamps[0])  # every other of a series


def test_the_first_of_the_longest_runs_is_told_and_the_start_ends_no_hour() -> None:
    stamps = np.datetime64("2031-01-01T00", "ns") + np.arange(9) * np.timedelta64(1, "h")
    values = np.array([1, 1, 0, 1, 1, 0, 1, 1, 0], dtype=float)
    found = exceedance(values, stamps, 0.5)
    assert (found.hours, found.longest, found.began) == (5, 2, stamps[3])
    assert exceedance(values, stamps, 2.0).began is None


def test_rot_of_places_together_is_the_highest_of_them_one_by_one() -> None:
    kelvin = 288.0 + 8.0 * RNG.normal(size=(6000, 4))
    rh = np.clip(0.97 + 0.03 * RNG.normal(size=(6000, 4)), 0.0, 1.0)
    alone, (together, rotten) = (
        brown_rot(kelvin, rh),
        rot_of(kelvin, rh, once(len(rh)), slice(0, 4)),
    )
    assert alone.mass_loss.max() > 0.0
    assert (together.activation == alone.activation.max(axis=1)).all()
    assert (together.mass_loss == alone.mass_loss.max(axis=1)).all()
    assert (rotten == alone.mass_loss[-1] + alone.activation.max(axis=0)).all()


def test_extremes_of_cells_are_those_of_whole_arrays() -> None:
    shape = (24 * 40 + 1, record().sizes["cell"])
    rh, water = RNG.uniform(0.85, 1.0, shape), RNG.uniform(10.0, 90.0, shape)
    of = hourly(record(rh=rh, water=water))
    assert (most_humid(of) == rh.max(axis=0)).all()
    assert (most_water(of) == water.max(axis=0)).all()


def folded(values: np.ndarray) -> str:
    """The digest of an array with integers of Python."""
    state = [1, 2, 3, 4]
    words = [int(w) for w in values.reshape(-1).view(np.uint64)]
    for k, word in enumerate(words):
        lane = k % 4 if k < len(words) // 4 * 4 else 0
        mixed = (state[lane] ^ word) * 0x9E3779B97F4A7C15 % 2**64
        state[lane] = mixed ^ (mixed >> 32)
    packed = b"".join(x.to_bytes(8, "little") for x in state)
    return hashlib.sha256(repr(values.shape).encode() + packed).hexdigest()


def test_digests_differ_where_a_bit_does() -> None:
    values = RNG.normal(size=(11, 3))
    whole = digest_of([values])
    assert whole == folded(values) == digest_of([np.asfortranarray(values)])
    for changed in (np.negative, lambda x: np.nextafter(x, 9.0)):
        for place in np.ndindex(values.shape):
            other = values.copy()
            other[place] = changed(other[place])
            assert digest_of([other]) != whole
    twice = values.copy()
    twice.flat[[4, 8]] *= -1.0  # the highest bit of two words of one lane
    assert digest_of([twice]) != whole
    assert digest_of([values.reshape(3, 11)]) != whole
    assert digest_of([values[:5], values[5:]]) != whole


def arrays(rain: float, first: float = np.nan, T: float = 280.0) -> dict[str, object]:
    hours = np.datetime64("2031-01-01T00", "ns") + np.arange(3) * np.timedelta64(1, "h")
    return {
        "time": hours, "layer_name": ["board"], "cell_layer": np.array([0]),
        "cell_depth": np.array([0.01]), "temperature": np.array([[280.0], [T], [280.0]]),
        "rain_runoff": np.array([first, 0.0, rain]),
    }  # fmt: skip


def test_bounds_hold_at_their_ends_and_first_hours_of_means_may_have_no_value() -> None:
    for sound in (arrays(0.1), arrays(-0.1), arrays(0.0, first=0.0), arrays(0.0, T=180.0)):
        check_arrays(sound, "here")
    for wrong, words in (
        (arrays(0.1001), "rain_runoff"), (arrays(np.nan), "no value"),
        (arrays(0.0, first=1.0), "time 2031-01-01T00:00"), (arrays(0.0, T=np.nan), "board"),
        (arrays(0.0, T=179.9), "179.9 K"), (arrays(0.0, T=np.inf), "inf K"),
    ):  # fmt: skip
        with pytest.raises(RecordError, match=words):
            check_arrays(wrong, "here")


def test_rows_that_end_together_are_one_transaction(tmp_path: Path) -> None:
    rows = [failed(letter * 64, "kept") for letter in "abc"]
    with Store(tmp_path / "some.study") as store:
        told: list[str] = []
        store._base.set_trace_callback(told.append)
        store.put(*rows)
        assert [line for line in told if line in ("BEGIN IMMEDIATE", "COMMIT")] == [
            "BEGIN IMMEDIATE", "COMMIT",
        ]  # fmt: skip
        assert store.rows(row.sha256 for row in rows).keys() == {row.sha256 for row in rows}
        with pytest.raises(InputError, match="binding"):
            store.put(failed("d" * 64, "lost"), failed("e" * 64, object()))  # type: ignore[arg-type]
        assert "d" * 64 not in store.finished(["d" * 64])
