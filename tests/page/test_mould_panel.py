"""The panel of the mould index draws what is judged: closing in, and the last years of service."""

from __future__ import annotations

import numpy as np
import pytest
from assess_records import record
from figure_labels import off_the_page, overlaps

from hygro.assess import summary, verdict
from hygro.page.live import series
from hygro.show.course import course
from hygro.show.panels import face_words
from hygro.show.service import in_a_line, words
from hygro.study.trace import Trace, trace

YEAR = 8760
INNER, OUTER = "osb, inner face", "osb, outer face"
BOARD = "gypsum board behind the lining, outer face"


def traced(years: float, skip_days: float | None = None, **attrs: object) -> tuple[Trace, float]:
    """Daily series, and the index that the table tells, of a record humid in its third month."""
    hours = int(years * YEAR)
    faces = np.full((hours + 1, 5, 2), 0.5)
    for start in range(1500, hours, YEAR):
        faces[start : start + 1000, 2, 0] = 0.97
    ds = record(hours=hours, face_rh=faces).assign_attrs(attrs)
    told = summary(ds, skip_days=skip_days)["mould_index_max"]
    return trace(ds, verdict(ds, skip_days=skip_days)), float(str(told))


PERIODIC = {"periodic_rounds": 4, "periodic_drift": 0.0}


@pytest.mark.parametrize(
    ("years", "attrs", "told"),
    [
        (2, {}, ("closing in", "service: the last of 10 years")),
        (4, {}, ("closing in", "service: the last 3 of 10 years")),
        (2.5, {}, ("closing in", "service: the last 1.5 of 10.5 years")),
        (12, {}, ("closing in", "service")),
        (1, PERIODIC, ("", "service: the last of 10 years")),
        (1, {"question": "closing in"}, ("closing in", "")),
        (1, {}, ("", "")),
    ],
)
def test_a_panel_says_which_years_it_draws(years: float, attrs: dict, told: tuple) -> None:
    found, highest = traced(years, **attrs)
    assert words(found.windows) == told
    mould = np.asarray(found.mould)
    begins = [365] if told[0] and told[1] else []
    assert np.flatnonzero(np.isnan(mould)).tolist() == begins
    judged = mould[366:] if begins else mould
    # a day's mean is below its highest hour by less than an index grows in a day, 0.06
    assert judged.max() == pytest.approx(highest, abs=0.06)
    (panel,) = [p for p in series([("tight", found)])["panels"] if p["title"].startswith("Mould")]
    assert panel["title"].endswith(in_a_line(found.windows))


@pytest.mark.parametrize("years", [2, 4, 12])
def test_what_closes_in_is_drawn_apart(years: int) -> None:
    found, _ = traced(years)
    figure = course([("tight", found), ("rain", found)])
    assert overlaps(figure) == []
    assert off_the_page(figure) == []
    (panel,) = [axes for axes in figure.axes if "Mould" in axes.get_title(loc="left")]
    written = [text.get_text() for text in panel.texts]
    assert any("closing in" in text for text in written)
    drawn = panel.lines[0].get_ydata()
    top = panel.get_ylim()[1]
    assert np.isnan(drawn).sum() == 1
    assert np.nanmax(drawn) < 0.9 * top


def test_days_left_out_by_the_user_are_left_out_of_the_figure() -> None:
    found, _ = traced(3, skip_days=500.0)
    assert np.flatnonzero(np.isnan(np.asarray(found.mould))).tolist() == [500]
    assert words(found.windows) == ("closing in", "service: the last 1.63 of 10.6 years")


def of_faces(*faces: str) -> list[tuple[str, Trace]]:
    found, _ = traced(2)
    return [(f"run {k}", found._replace(face=face)) for k, face in enumerate(faces)]


@pytest.mark.parametrize(
    ("faces", "at", "labels"),
    [
        ([INNER], INNER, ["run 0"]),
        ([INNER, INNER], INNER, ["run 0", "run 1"]),
        (
            [INNER, OUTER, BOARD],
            "the face that decides",
            ["run 0 (inner face)", "run 1 (outer face)", f"run 2 ({BOARD})"],
        ),
    ],
)
def test_every_chart_says_which_face_it_draws(faces: list[str], at: str, labels: list[str]) -> None:
    runs = of_faces(*faces)
    live = {panel["quantity"]: panel for panel in series(runs)["panels"]}
    assert live["Moisture content of the sheathing"]["labels"] == [name for name, _ in runs]
    figure = course(runs)
    for panel, axes in zip(list(live.values())[1:], figure.axes[1:], strict=True):
        assert panel["title"].startswith(f"{panel['quantity']} at {at}")
        assert panel["labels"] == labels
        assert axes.get_title("left").startswith(f"{panel['quantity']} at {at}")
        drawn = [text.get_text().replace("\n", " ") for text in axes.texts]
        assert len(runs) == 1 or set(labels) <= set(drawn)


def test_labels_with_their_faces_stand_apart() -> None:
    figure = course(of_faces(INNER, BOARD, OUTER, BOARD, INNER))
    assert overlaps(figure) == []
    assert off_the_page(figure) == []


def test_faces_are_told_with_the_runs_of_each() -> None:
    assert face_words(of_faces(INNER, INNER)) == INNER
    told = face_words(of_faces(INNER, OUTER, INNER))
    assert told == "osb, inner face: run 0, run 2; osb, outer face: run 1"
