"""Ten years of service that mould and rot grow through, against years put end to end by hand."""

from __future__ import annotations

import numpy as np
import pytest
from assess_records import record

from hygro.assess import brown_rot, decay, mould, mould_index, summary, verdict
from hygro.assess.questions import windows

YEAR = 8760
WARM = 293.15
PLACE = "osb, inner face"
HUMID = {"a": 300, "b": 200, "c": 150, "d": 0}
"""Hours of a year at 97 %, the others at 50 %; of "d" none."""


def year(kind: str) -> np.ndarray:
    """Humidity at the ends of the hours of a year; mould can grow in its third month. [1]"""
    rh = np.full(YEAR, 0.5)
    rh[1500 : 1500 + HUMID[kind]] = 0.97
    return rh


def series(kinds: str) -> np.ndarray:
    """Years one after the other, with the state at their start."""
    return np.concatenate([[0.5], *(year(kind) for kind in kinds)])


def run(rh: np.ndarray, **attrs: object):
    """A record with a humidity at the inner face of the OSB and in its cells."""
    faces = np.full((len(rh), 5, 2), 0.5)
    faces[:, 2, 0] = rh
    return record(hours=len(rh) - 1, face_rh=faces).assign_attrs(attrs)


def periodic(rh: np.ndarray):
    return run(rh, periodic_rounds=4, periodic_drift=0.0)


def by_hand(rh: np.ndarray) -> np.ndarray:
    return mould_index(np.full(len(rh), WARM), rh, sensitivity="sensitive")


def of(ds, **options: object) -> np.ndarray:
    return mould(ds, **options).sel(surface=PLACE).values


def judged(ds, **options: object):
    (found,) = [f for f in verdict(ds, **options).of("mould_index") if f.place == PLACE]
    return found


@pytest.mark.parametrize(
    ("weather", "lived"),
    [
        ("da", "aaaaaaaaaa"),
        ("dab", "ababababab"),
        ("dabc", "cabcabcabc"),
        ("dabcab", "abcababcab"),
        ("dabcabcabca", "abcabcabca"),
        ("dabcabcabcabc", "abcabcabcabc"),
    ],
)
def test_service_is_gone_through_until_ten_years_are_full(weather: str, lived: str) -> None:
    ds = run(series(weather))
    service = len(weather) - 1
    expected = by_hand(series(lived))[-service * YEAR - 1 :]
    assert of(ds)[YEAR + 1 :] == pytest.approx(expected[1:], abs=1e-12)
    found = judged(ds)
    assert found.value == pytest.approx(expected.max(), abs=1e-12)
    assert found.when == str(ds["time"].values[YEAR + int(expected.argmax())])[:13]
    assert summary(ds)["mould_index_max"] == found.value


def test_the_length_of_the_weather_does_not_change_what_a_year_does() -> None:
    once = periodic(series("a"))
    found = [judged(ds).value for ds in (once, *(run(series("a" * n)) for n in (2, 3, 4, 7, 11)))]
    assert found == pytest.approx([by_hand(series("a" * 10)).max()] * 6, abs=1e-12)
    assert found[0] > 1.5 * by_hand(series("a")).max()


def test_ten_years_once_are_not_gone_through_again() -> None:
    ds = run(series("d" + "a" * 12))
    assert judged(ds).value == pytest.approx(by_hand(series("a" * 12)).max(), abs=1e-12)
    assert "of service" not in judged(ds).reason
    assert "(in year 8 of service, in the weather of " in judged(run(series("dabc"))).reason


@pytest.mark.parametrize(
    ("weather", "told"),
    [
        # "a" comes twice in service, the last time as its second to last year
        ("dab", "in year 9 of service, in the weather of {date}"),
        ("dba", "in year 10 of service, in the weather of {date}"),
        ("dbab", "in year 9 of service, in the weather of {date}"),
        ("d" + "b" * 9 + "a", "at {date}"),  # ten years once: a date of the run
        ("d" + "b" * 8 + "a" + "bb", "at {date}"),
    ],
)
def test_a_date_of_weather_that_comes_again_is_told_as_one(weather: str, told: str) -> None:
    rh = series(weather)
    # a long wet time in "a": its end is the highest of service
    start = 1 + weather.index("a") * YEAR + 1500
    rh[start : start + 2000] = 0.97
    date = str(np.datetime64("2030-10-01T00") + (start + 1999))
    found = judged(run(rh))
    assert (found.when, f"({told.format(date=date)})" in found.reason) == (date, True)
    year = int(told.split()[2]) if "year" in told else None
    assert found.service_year == found.to_dict()["service_year"] == year


@pytest.mark.parametrize(
    ("days", "hour", "year"),
    [(0.0, 0, 10), (0.0, 1, 10), (0.0, YEAR, 10), (30.0, 30 * 24 + 1, 11), (30.0, YEAR, 11)],
)
def test_the_first_and_last_hours_of_a_year_are_in_it(days: float, hour: int, year: int) -> None:
    way = windows(periodic(season(YEAR)), days).way
    assert way is not None
    assert way.year(hour, YEAR) == year


def test_the_year_of_service_of_a_run_of_no_whole_years() -> None:
    # a year and a half in service: nine years before it, then the tenth and half of the eleventh
    way = windows(run(season(5 * YEAR // 2))).way
    assert way is not None
    hours = (YEAR + 1, 2 * YEAR, 2 * YEAR + 1, 5 * YEAR // 2)
    assert [way.year(hour, 5 * YEAR // 2) for hour in hours] == [10, 10, 11, 11]


def season(hours: int) -> np.ndarray:
    """A humidity that depends on the hour of the year alone. [1]"""
    return year("a")[(np.arange(hours + 1) - 1) % YEAR]


@pytest.mark.parametrize(
    ("hours", "days", "years"),
    [(5 * YEAR // 2, None, 9), (2 * YEAR, 400.0, 10), (3 * YEAR, 500.0, 9), (3 * YEAR, 760.0, 10)],
)
def test_season_meets_season_where_service_is_no_whole_years(
    hours: int, days: float | None, years: int
) -> None:
    ds = run(season(hours))
    begin = 24 * int(days or 365)
    lived = season(hours + years * YEAR)[begin:]
    expected = by_hand(lived)[-(hours - begin) - 1 :]
    assert len(lived) > 10 * YEAR > len(lived) - YEAR
    assert of(ds, skip_days=days)[begin + 1 :] == pytest.approx(expected[1:], abs=1e-12)
    assert judged(ds, skip_days=days).value == pytest.approx(expected.max(), abs=1e-12)


def test_days_left_out_of_a_periodic_year_come_in_the_years_before() -> None:
    ds = periodic(season(YEAR))
    expected = by_hand(season(11 * YEAR)[30 * 24 :])[-335 * 24 - 1 :]
    assert judged(ds, skip_days=30).value == pytest.approx(expected.max(), abs=1e-12)
    assert of(ds, skip_days=30)[30 * 24 + 1 :] == pytest.approx(expected[1:], abs=1e-12)


@pytest.mark.parametrize("hours", [YEAR, 3 * YEAR // 2])
def test_what_is_judged_as_one_is_gone_through_once(hours: int) -> None:
    ds = run(season(hours))
    assert of(ds) == pytest.approx(by_hand(season(hours)), abs=1e-12)
    assert judged(ds).value == pytest.approx(by_hand(season(hours)).max(), abs=1e-12)


def test_days_left_out_that_are_no_year_leave_the_rest_judged_as_one() -> None:
    rest = by_hand(season(3 * YEAR)[40 * 24 :])
    assert judged(run(season(3 * YEAR)), skip_days=40).value == pytest.approx(rest.max(), abs=1e-12)


def test_the_first_year_is_gone_through_once_and_never_again() -> None:
    ds = run(series("ad"))
    (closing,) = [f for f in verdict(ds).of("closing_mould") if f.place == PLACE]
    assert closing.value == pytest.approx(by_hand(series("a")).max(), abs=1e-12)
    assert judged(ds).value == 0.0
    assert of(ds)[: YEAR + 1] == pytest.approx(by_hand(series("a")), abs=1e-12)


def test_rot_goes_through_the_same_years() -> None:
    def wet(kinds: str) -> np.ndarray:
        return np.where(series(kinds) > 0.9, 0.985, 0.5)

    def by_hand(kinds: str):
        rh = wet(kinds)
        return brown_rot(np.full(len(rh), WARM), rh)

    ds = record(hours=3 * YEAR, rh=wet("dab")[:, None])
    expected, once = by_hand("ababababab"), by_hand("dab")
    (row,) = verdict(ds).of("decay")
    assert row.value == expected.activation[-2 * YEAR :].max() > once.activation.max()
    assert f"loss of dry mass {100 * expected.mass_loss[-1]:.2g} %, in 10 years" in row.reason
    assert f"(in year {row.service_year} of service, in the weather of {row.when})" in row.reason
    highest = int(expected.activation[-2 * YEAR :].argmax())
    assert row.service_year == 9 + highest // YEAR
    assert expected.mass_loss[-1] > once.mass_loss[-1]
    found = decay(ds, "osb")
    for name in ("activation", "mass_loss"):
        values = getattr(expected, name)[-2 * YEAR :]
        assert getattr(found, name).values[YEAR + 1 :] == pytest.approx(values, abs=1e-12)
