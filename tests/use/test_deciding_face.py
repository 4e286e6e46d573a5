"""The face that decides is named, drawn and told; nothing is drawn where nothing ran."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from assess_records import WALL, record
from case_files import write_case
from feature_walls import frame

from hygro.assess import summary, verdict
from hygro.assess.verdict import deciding_words
from hygro.case import climate, load
from hygro.page.gather import _Judged, _outcome
from hygro.room.models import Constant
from hygro.show import figures, side_by_side, tables
from hygro.show.files import write_comparison
from hygro.solve.settings import Settings
from hygro.study.compare import compare
from hygro.study.trace import governing_face, trace
from hygro.wall.elements import Gap, Initial, Layer

YEAR = 8760


def humid(**faces: float):
    """A record with a humidity at some sides of interfaces, 50 % elsewhere; names are "i2s0"."""
    rh = np.full((5, 2), 0.5)
    for name, value in faces.items():
        rh[int(name[1]), int(name[3])] = value
    return record(hours=24 * 80, face_rh=rh)


def drawn(ds, **options: object) -> str:
    return governing_face(ds, verdict(ds, **options)).name


def humid_in_spells(*, outer: int, inner: int, water: float | None = None):
    """Two years: the outer face humid for some hours of year 1, the inner one in every year."""
    rh = np.full((2 * YEAR + 1, 5, 2), 0.5)
    rh[1000 : 1000 + outer, 1, 1] = 0.97
    for start in (1000, 1000 + YEAR):
        rh[start : start + inner, 2, 0] = 0.97
    return record(hours=2 * YEAR, face_rh=rh, water=water)


def test_the_outer_face_is_drawn_where_its_mould_decides() -> None:
    ds = humid(i1s1=0.97, i2s0=0.85)  # outer and inner face of the osb
    found = trace(ds, verdict(ds))
    assert found.face == "osb, outer face"
    assert found.humidity == pytest.approx(np.full(80, 0.97))
    assert found.mould is not None
    assert found.mould[-1] > 3.0
    assert deciding_words(verdict(ds)) == "osb outer: mould"
    assert (summary(ds)["mould_surface"], summary(ds)["rh_surface"]) == (
        "osb, outer face", "osb, outer face",
    )  # fmt: skip


def test_a_face_further_in_is_drawn_where_it_decides() -> None:
    ds = humid(i3s1=0.97)  # outer face of the inner board
    assert drawn(ds) == "board, outer face"


OUTER, INNER = "osb, outer face", "osb, inner face"


def test_the_face_whose_first_year_decides_is_drawn() -> None:
    ds = humid_in_spells(outer=1200, inner=100)
    told = verdict(ds)
    assert deciding_words(told) == "osb outer: mould, year 1"
    assert summary(ds)["mould_surface"] == INNER  # by service alone
    assert drawn(ds) == OUTER
    found = trace(ds, told)
    assert found.face == OUTER
    assert found.humidity[50] == pytest.approx(0.97)  # the outer face alone


def test_where_water_decides_the_face_with_most_mould_over_both_questions_is_drawn() -> None:
    ds = humid_in_spells(outer=500, inner=20, water=150.0)  # osb: 25 % by mass
    told = verdict(ds).worst
    assert told is not None
    assert told.criterion.key == "mc_30d"
    assert summary(ds)["mould_surface"] == INNER  # by service alone
    assert drawn(ds) == OUTER


def test_the_face_is_drawn_whose_mould_decides_though_another_has_more() -> None:
    rh = np.full((5, 2), 0.5)
    rh[1, 1], rh[4, 0] = 0.92, 0.88  # outer face of the osb; the face that the room sees
    ds = record(hours=24 * 80, face_rh=rh)
    told = verdict(ds)
    most = max(told.of("mould_index"), key=lambda f: f.value or 0.0)
    assert most.place == OUTER
    assert told.worst is not None
    assert told.worst.place == "board, inner face"
    assert drawn(ds) == "board, inner face"


def test_rules_that_know_no_mould_leave_the_face_with_most_of_it() -> None:
    ds = humid(i3s1=0.97)
    assert drawn(ds, criteria="iso-13788") == "board, outer face"


def test_the_face_is_that_of_the_decline_that_judged() -> None:
    # the outer face has two spells, the inner one a longer one: without decline the two add up
    rh = np.full((YEAR + 1, 5, 2), 0.5)
    rh[500:950, 1, 1] = rh[6000:6450, 1, 1] = 0.97
    rh[500:1100, 2, 0] = 0.97
    ds = record(hours=YEAR, face_rh=rh)
    assert drawn(ds, decline=0.0) == OUTER
    assert drawn(ds, decline=1.0) == INNER


def test_without_mould_the_more_humid_face_of_the_sheathing_is_drawn() -> None:
    assert drawn(humid(i1s1=0.6)) == "osb, outer face"
    assert drawn(humid(i2s0=0.6)) == "osb, inner face"
    assert drawn(record()) == "osb, inner face"


def test_what_stands_outside_of_the_cladding_gap_is_not_taken_for_the_face_that_decides() -> None:
    siding = WALL[0]._replace(name="siding", mould="very sensitive", wood=1)
    rh = np.full((5, 2), 0.5)
    rh[1, 0] = 0.97  # inner face of the siding
    ds = record((siding, *WALL[1:]), hours=24 * 80, face_rh=rh)
    assert drawn(ds) == "osb, inner face"


def test_the_wettest_skin_stands_beside_the_whole_board() -> None:
    water = np.full(16, 60.0)
    water[4] = 150.0  # outer 3 mm of 12 mm: 25 % by mass
    numbers = summary(record(water=water))
    assert numbers["mc_30d_skin_max"] == pytest.approx(0.25)
    assert numbers["mc_30d_max"] == pytest.approx((150 + 3 * 60) / 4 / 600)


def test_beyond_fibre_saturation_no_number_is_written() -> None:
    found = verdict(record(water=240.0))  # 40 % by mass
    (row,) = found.of("mc_30d")
    assert row.value == pytest.approx(0.40)  # the number stays for scripts
    assert "> 28.0 %" in row.reason
    assert "40" not in row.reason.split("(")[0]
    assert "&gt; 28.0 %" in found._repr_html_()
    assert (tables.moisture(0.30), tables.moisture(0.28), tables.moisture(None)) == (
        "> 28", "28.0", "–",
    )  # fmt: skip


@pytest.fixture(scope="module")
def compared(tmp_path_factory: pytest.TempPathFactory):
    weather = climate(load(write_case(tmp_path_factory.mktemp("case"))))
    wet = tuple(
        replace(e, initial=Initial(moisture_content=0.26))
        if isinstance(e, Layer) and e.name == "sheathing"
        else e
        for e in frame(Gap("gap", 0.02, 50.0)).layers
    )
    settings = Settings(accuracy="draft", tolerance=10.0)
    return compare(replace(frame(), layers=wet), weather, Constant(294.15, 0.6), settings=settings)


def text_of(table: object) -> str:
    return " ".join(str(cell) for column in table.columns for cell in column.cells)


def test_column_and_label_name_the_face_that_decides(compared) -> None:
    (item,) = compared.walls
    worst = item.tight.verdict.worst
    assert worst is not None
    told = " ".join(text_of(part) for part in side_by_side.comparison(compared.walls))
    assert deciding_words(item.tight.verdict) in told
    figure = figures.comparison(compared.walls, title="", order=["framed"])
    words = [" ".join(t.get_text().split()) for axes in figure.axes for t in axes.texts]
    face = item.tight.trace.face
    inner = face == "sheathing, inner face"
    expected = "framed" if inner else f"framed ({face.removeprefix('sheathing, ')})"
    assert expected in words


def test_a_page_of_two_records_draws_the_face_that_decides_both(compared) -> None:
    def judged(attrs: dict, *, column: tuple[int, int], hours: int) -> _Judged:
        rh = np.full((YEAR + 1, 5, 2), 0.5)
        rh[1000 : 1000 + hours, *column] = 0.97
        ds = record(hours=YEAR, face_rh=rh).assign_attrs(attrs)
        told = verdict(ds)
        outcome = replace(compared.walls[0].tight, trace=trace(ds, told))
        return _Judged(told, outcome, SimpleNamespace(), ds)  # type: ignore[arg-type]

    service = judged({"periodic_rounds": 4, "periodic_drift": 0.0}, column=(2, 0), hours=100)
    closing = judged({"question": "closing in"}, column=(1, 1), hours=1200)
    assert service.outcome.trace.face == INNER
    found = _outcome({"service": service, "closing in": closing})
    assert deciding_words(found.verdict) == "osb outer: mould, year 1"
    assert found.trace.face == OUTER
    assert found.trace.humidity.max() == pytest.approx(0.5)  # of the record of service


def test_nothing_is_drawn_when_nothing_ran(tmp_path: Path) -> None:
    write_comparison((), (), tmp_path, title="none", order=(), system="si")
    assert sorted(p.name for p in tmp_path.iterdir()) == ["comparison.csv", "comparison.json"]
