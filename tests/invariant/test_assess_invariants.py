"""What must hold for any history: bounds, monotony, shifts in time, independence of places."""

from __future__ import annotations

import numpy as np
import pytest
from assess_records import record
from hypothesis import given, settings
from hypothesis import strategies as st

from hygro.assess import brown_rot, mould_index, running_mean, verdict
from hygro.assess.mould import CLASSES

CEILING = {"very sensitive": 6.0, "sensitive": 5.3, "medium resistant": 3.5, "resistant": 2.0}
"""A + B - C of the classes of Ojanen et al. 2010: the index at 100 % humidity."""
kinds = st.sampled_from(sorted(CLASSES))
seeds = st.integers(0, 2**32 - 1)
quick = settings(max_examples=40, deadline=None)  # the first call compiles


def history(seed, hours=400):
    random = np.random.default_rng(seed)
    kelvin = 273.15 + random.uniform(-25, 55, hours)
    return kelvin, random.uniform(0.3, 1.05, hours) ** random.uniform(0.05, 1.0)


@quick
@given(seeds, kinds, st.sampled_from(["ojanen2010", "ashrae160e"]))
def test_index_stays_between_0_and_the_ceiling_of_its_class(seed, kind, model):
    index = mould_index(*history(seed, 3000), sensitivity=kind, model=model)
    assert index.min() >= 0.0
    assert index.max() <= CEILING[kind]
    assert np.isfinite(index).all()


@quick
@given(kinds, st.floats(0.5, 45.0), st.floats(0.7, 1.0), st.floats(0.0, 0.2))
def test_more_humidity_never_means_less_mould_in_constant_conditions(kind, celsius, rh, more):
    kelvin = np.full(2000, 273.15 + celsius)
    humid = mould_index(kelvin, np.full(2000, min(rh + more, 1.0)), sensitivity=kind)
    drier = mould_index(kelvin, np.full(2000, rh), sensitivity=kind)
    # growth slows at index 1, which the more humid one reaches first; the hour that crosses it goes
    # at the fast rate to its end, so that the other may gain up to one hour of growth there
    fast = humid < 1.0
    assert (humid >= drier - 1e-12)[fast].all()
    assert (humid >= drier - np.diff(drier).max())[~fast].all()


@quick
@given(seeds, kinds, st.integers(1, 300))
def test_a_dry_time_before_changes_nothing(seed, kind, hours):
    kelvin, rh = history(seed)
    before = np.full(hours, 290.0), np.full(hours, 0.4)
    shifted = mould_index(
        np.concatenate((before[0], kelvin[1:])),
        np.concatenate((before[1], rh[1:])),
        sensitivity=kind,
    )
    plain = mould_index(kelvin, rh, sensitivity=kind)
    assert np.array_equal(shifted[hours:], plain[1:])


@quick
@given(seeds, kinds)
def test_surfaces_do_not_know_each_other(seed, kind):
    a, b = history(seed), history(seed + 1)
    both = mould_index(
        np.stack((a[0], b[0]), axis=1),
        np.stack((a[1], b[1]), axis=1),
        sensitivity=["sensitive", kind],
    )
    assert np.array_equal(both[:, 0], mould_index(*a, sensitivity="sensitive"))
    assert np.array_equal(both[:, 1], mould_index(*b, sensitivity=kind))


@quick
@given(seeds, kinds, st.floats(0.0, 1.0))
def test_faster_decline_never_means_more_mould(seed, kind, decline):
    slow = mould_index(*history(seed), sensitivity=kind, decline=0.0)
    fast = mould_index(*history(seed), sensitivity=kind, decline=decline)
    assert (np.diff(slow) >= 0.0).all()
    # the rate above index 1 may be lower, so a fallen index may grow faster, but never overtakes
    # by more than one hour of the fastest growth (2/168 per hour over 0.5 weeks at least)
    assert (fast <= slow + 2.0 / 84.0).all()


@quick
@given(seeds)
def test_rot_keeps_its_bounds_and_never_grows_back(seed):
    kelvin, rh = history(seed, 2000)
    state = brown_rot(kelvin, np.minimum(rh + 0.1, 1.0))
    assert ((state.activation >= 0.0) & (state.activation <= 1.0)).all()
    assert (np.diff(state.mass_loss) >= 0.0).all()


@quick
@given(seeds, st.integers(1, 200))
def test_running_mean_stays_between_the_extremes(seed, window):
    kelvin, _ = history(seed)
    mean = running_mean(kelvin, window)[window - 1 :]
    # sums of 400 differences below 100 K: 12 digits
    assert mean.min() >= kelvin.min() - 1e-9
    assert mean.max() <= kelvin.max() + 1e-9


def test_skipping_days_is_the_same_as_cutting_the_run():
    water = np.linspace(200.0, 60.0, 2401)
    ds = record(hours=2400, water=water)
    skipped = verdict(ds, skip_days=10)
    cut = verdict(ds.isel(time=slice(240, None)))
    # closing in is counted from the state at the start, whatever is skipped
    one, other = (
        [f.value for f in found.findings if f.criterion.question == "service"]
        for found in (skipped, cut)
    )
    assert one == other
    assert [f.value for f in skipped.of("drying")] == [f.value + 10 for f in cut.of("drying")]


def test_more_water_never_widens_a_margin():
    margins = [
        verdict(record(water=water)).of("mc_30d")[0].margin for water in (60.0, 90.0, 120.0, 150.0)
    ]
    assert margins == sorted(margins, reverse=True)
    assert margins[2] == pytest.approx(0.0, abs=1e-12)
