"""The figures as files: written whole, no label on another, walls told apart without colour."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from figure_labels import labels, off_the_page, overlaps
from matplotlib.figure import Figure

from hygro.assess.verdict import Verdict
from hygro.atomic import replacing
from hygro.case import load
from hygro.errors import InputError
from hygro.show import figures, style
from hygro.show.drawn import write
from hygro.show.section import wall_section
from hygro.study.compare import Compared
from hygro.study.plan import PlannedRun
from hygro.study.reserve import Bound, Reserve
from hygro.study.runs import Outcome
from hygro.study.trace import Trace

FACES = ("sheathing, inner face", "sheathing, outer face", "gypsum board, inner face")
DAYS = np.datetime64("2001-10-01") + np.arange(730)


def invented(level: float) -> Trace:
    """A smooth yearly course; its numbers mean nothing."""
    wave = 1 + np.cos(2 * np.pi * (np.arange(730) - 120) / 365)
    moisture = 0.10 + 0.02 * level * wave
    index = np.cumsum(np.maximum(0.0, moisture - 0.12)) * 0.02
    zero = np.zeros(730)
    face = FACES[int(level) % len(FACES)]
    humid = np.clip(4 * moisture, 0, 1)
    return Trace(DAYS, "sheathing", moisture, index, humid, zero, zero, zero, face)


def compared(leaks: bool) -> list[Compared]:
    found = []
    for level, item in enumerate(load("demonstration").walls):
        runs = [
            Outcome(
                run=PlannedRun(item.name, item.wall, item.room, "both" if on else "tight"),
                verdict=Verdict((), "sheathing", "", 0.0, "", ""),
                numbers={},
                hand=None,
                trace=invented(level + on),
                quality={},
            )
            for on in ((False, True) if leaks else (False,))
        ]
        borne = Reserve(Bound(0.45, None if level % 2 else 0.7, 0.75), None, None, ("winter_rh",))
        found.append(Compared(item.name, tuple(runs), borne))
    return found


def drawn(leaks: bool) -> Figure:
    rows = compared(leaks)
    return figures.comparison(rows, title="Invented", order=[item.name for item in rows])


@pytest.mark.parametrize("leaks", [True, False])
def test_no_label_of_the_comparison_lies_on_another(leaks: bool) -> None:
    assert overlaps(drawn(leaks)) == []


@pytest.mark.parametrize("leaks", [True, False])
def test_names_of_walls_and_what_they_bear_are_shown_whole(leaks: bool) -> None:
    words = [" ".join(text.get_text().split()) for text in labels(drawn(leaks))]
    for item in compared(leaks):
        told = [text for text in words if re.match(rf"{re.escape(item.name)}( \(|$| bears)", text)]
        assert len(told) == 3, item.name  # once a row
        assert item.reserve is not None
        assert sum(text.endswith(item.reserve.words) for text in told) == 1


def test_a_face_is_named_unless_it_is_the_one_that_the_title_tells() -> None:
    figure = drawn(True)
    words = [" ".join(text.get_text().split()) for text in labels(figure)]
    titles = [axes.get_title(loc="left") for axes in figure.axes]
    assert any("the inner one of the sheathing where none is named" in text for text in titles)
    named = {"sheathing, outer face": "outer face", "sheathing, inner face": "inner face",
             "gypsum board, inner face": "gypsum board, inner face"}  # fmt: skip
    both = 0
    for item in compared(True):
        assert item.leaky is not None
        last, tight = named[item.leaky.trace.face], named[item.tight.trace.face]
        told = f" ({last}; without leaks {tight})" if last != tight else f" ({last})"
        both += last != tight
        name = item.name + (told if told != " (inner face)" else "")
        assert words.count(name) >= 2, item.name
    assert both


def test_a_wall_without_leaks_beside_others_has_its_label_and_lines() -> None:
    first, *others = compared(True)
    alone = replace(first, outcomes=(first.tight,))
    rows = [alone, *others]
    figure = figures.comparison(rows, title="", order=[item.name for item in rows])
    words = [" ".join(text.get_text().split()) for text in labels(figure)]
    told = [text for text in words if text.startswith(f"{alone.name} (no leaks)")]
    assert len(told) == 3  # once a row
    assert not any("(no leaks)" in text or "; no leaks" in text for text in set(words) - set(told))
    walls = [line for line in figure.axes[1].lines if len(line.get_xdata()) == len(DAYS)]
    assert len(walls) == len(rows)
    assert overlaps(figure) == []
    assert off_the_page(figure) == []


def test_a_name_too_long_for_a_line_goes_on_in_the_next() -> None:
    name = "a wall of which the name says all that it is made of, from the outside inward"
    (item,) = [replace(found, name=name) for found in compared(True)[:1]]
    runs = [replace(o, run=replace(o.run, name=name)) for o in item.outcomes]
    figure = figures.comparison([replace(item, outcomes=tuple(runs))], title="", order=[name])
    words = [" ".join(text.get_text().split()) for text in labels(figure)]
    assert sum(text.startswith(name) for text in words) == 3
    assert overlaps(figure) == []
    assert off_the_page(figure) == []


@pytest.mark.parametrize("leaks", [True, False])
def test_every_label_lies_on_the_page(leaks: bool) -> None:
    figure = drawn(leaks)
    renderer = figure.canvas.get_renderer()
    figure.draw(renderer)
    for text in labels(figure):
        box = text.get_window_extent(renderer)
        assert box.x0 >= 0, text.get_text()
        assert box.x1 <= figure.bbox.x1, text.get_text()


def test_no_label_of_a_section_lies_on_another() -> None:
    for item in load("demonstration").walls:
        assert overlaps(wall_section(item.wall)) == [], item.name


def test_a_comparison_without_leaks_says_so_on_its_face() -> None:
    words = " ".join(text.get_text() for text in labels(drawn(False)))
    assert "No leaks defined" in words


def test_pens_differ_in_dash_or_mark() -> None:
    assert len({(pen.dash, pen.mark) for pen in style.PENS}) == len(style.PENS)


def test_a_figure_is_written_whole(tmp_path: Path) -> None:
    path = tmp_path / "figure.png"
    write(wall_section(load("demonstration").walls[0].wall), path)
    assert path.read_bytes()[:8] == b"\x89PNG\r\n\x1a\n"
    assert [file.name for file in tmp_path.iterdir()] == ["figure.png"]


def test_a_write_that_fails_leaves_the_old_file_and_no_scrap(tmp_path: Path) -> None:
    path = tmp_path / "table.csv"
    path.write_text("old")

    def fail() -> None:
        with replacing(path) as temporary:
            temporary.write_text("half")
            raise RuntimeError

    with pytest.raises(RuntimeError):
        fail()
    assert path.read_text() == "old"
    assert [file.name for file in tmp_path.iterdir()] == ["table.csv"]
    with pytest.raises(InputError, match="cannot be written"), replacing(tmp_path / "no" / "x.csv"):
        pass
