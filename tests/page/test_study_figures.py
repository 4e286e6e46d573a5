"""Figures of studies: what they draw, by hand-made findings; labels apart and on the page."""

from __future__ import annotations

import math

import numpy as np
import pytest
from contourpy import contour_generator
from figure_labels import labels, off_the_page, overlaps
from matplotlib.colors import to_rgb
from matplotlib.figure import Figure

from hygro.decide.axis import Axis
from hygro.decide.beside import Beside
from hygro.decide.boundary import grid
from hygro.decide.limit import Limited
from hygro.decide.limit_figure import figure
from hygro.decide.map import Mapped
from hygro.decide.map_figure import figure as figure_of_map
from hygro.decide.map_figure import smoothed
from hygro.decide.point import PointResult
from hygro.decide.sample import Sampled, Stage, probability
from hygro.decide.sample_figure import figure as figure_of_sample
from hygro.decide.sensitivity import Sensitivity
from hygro.decide.slots import says
from hygro.decide.years import RankedYears, Year
from hygro.decide.years_figure import figure as figure_of_years
from hygro.show.borne import borne
from hygro.show.metal import Course, metal_course
from hygro.show.title_block import TitleBlock
from hygro.show.transmittance import Bar, transmittance
from hygro.study.limit import Limit
from hygro.study.reserve import Bound, Reserve
from hygro.study.trials import Trial


def limited(values: list[float], margins: list[float], *, own: float | None = None) -> Limited:
    along = Axis("a", "layers.membrane.permeance", "perm", "", values[0], values[-1])
    trials = tuple(Trial(x, m > 0) for x, m in zip(values, margins, strict=True))
    results = [
        PointResult(k, {"a": x}, m > 0, m, "both", "sheathing inner: mould", "mould_index",
                    "", {}, "")
        for k, (x, m) in enumerate(zip(values, margins, strict=True))
    ]  # fmt: skip
    return Limited(along, own, Limit(trials), results)


STEEP = [0.1, 0.2, 0.4, 0.41, 1.0, 3.0, 10.0, 50.0]


@pytest.mark.parametrize(
    "found",
    [
        limited(STEEP, [-0.9, -0.1, -0.01, 0.01, 0.4, 0.2, -0.2, -3.0], own=8.0),
        limited([1.0, 1.1, 1.2, 1.3, 2.0], [-1, 1, -1, 1, -1], own=1.0),
        limited([1.0, 2.0], [-1, -1]),
        limited([1.0, 2.0, 3.0], [0.2, math.nan, 0.3], own=3.0),
    ],
)
def test_a_limit_keeps_its_labels_apart(found: Limited) -> None:
    drawn = figure(found, title="A project with a name: a wall with a rather long name")
    assert overlaps(drawn) == []
    assert off_the_page(drawn) == []


def test_a_limit_shades_its_windows_and_marks_what_is_beyond() -> None:
    """Two values within, from 2 to 3; reserves of −120, 10, 30 and −50 % by hand."""
    drawn = figure(limited([1, 2, 3, 4], [-1.2, 0.1, 0.3, -0.5], own=2.5), title="x")
    (axes,) = drawn.axes
    (shade,) = axes.patches
    assert (shade.get_x(), shade.get_x() + shade.get_width()) == (2.0, 3.0)  # type: ignore[attr-defined]
    marks = {line.get_marker(): line for line in axes.lines if line.get_marker() in ("o", "X")}
    assert marks["o"].get_xydata() == pytest.approx(np.array([[2, 10], [3, 30]]))
    assert marks["X"].get_xydata() == pytest.approx(np.array([[1, -100], [4, -50]]))
    greys = [np.dot((0.2126, 0.7152, 0.0722), to_rgb(marks[m].get_color())) for m in "oX"]  # type: ignore[arg-type]
    assert max(greys) < 0.45  # dark on paper; the marks differ, not the colours alone
    words = [text.get_text() for text in labels(drawn)]
    assert {"2", "3"} <= set(words)
    assert any("within limits at 2 to 3 perm" in text for text in words)
    assert any("as written: 2.5" in text for text in words)


def test_an_isoline_of_a_map_is_not_turned_round_by_the_error_of_a_number() -> None:
    """A plane, with pairs 1 % of the ranges apart along its line of 20 and errors of ±0.6 there."""
    along = np.linspace(0.04, 0.96, 13)
    pairs = np.concatenate([np.stack([along - d, along + d], axis=1) for d in (-0.0035, 0.0035)])
    error = 0.6 * np.cos(np.pi * np.arange(len(pairs)))
    points = np.concatenate([grid(6), pairs])
    values = 20.0 + 40.0 * (points[:, 1] - points[:, 0])
    values[36:] += error
    field = smoothed(points, values)
    side = np.linspace(0.0, 1.0, len(field))
    (line,) = contour_generator(side, side, field).lines(20.0)
    steps = np.diff(line, axis=0) * np.sign(line[-1] - line[0])
    assert steps.min() > -1e-12  # on and on, to the right and up
    assert np.abs(line[:, 1] - line[:, 0]).max() < 0.02


def steep_map(own: tuple[float, float] | None) -> Figure:
    """A mould index that climbs from nothing to its ceiling within a tenth of the range across."""
    where = grid(9)
    index = 5.3 / (1.0 + np.exp(-60.0 * (where[:, 0] - 0.4 - 0.1 * where[:, 1])))
    results = [
        PointResult(k, {}, m < 3.0, 1.0 - m / 3.0, "both", "sheathing inner: mould", "mould_index",
                    "", {"mould_index_max": m, "mc_30d_max": 0.1 + 0.03 * m, "condensate": m}, "")
        for k, m in enumerate(index)
    ]  # fmt: skip
    x, y = (Axis(name, name, "%", "", 0.0, 1.0) for name in ("outboard_share", "winter_rh"))
    found = Mapped(x, y, where, results, [], 0, full=True)
    return figure_of_map(found, Beside(own, [], None, "", ""), title="x")


def test_numbers_of_steep_isolines_stand_apart() -> None:
    drawn = steep_map(None)
    assert overlaps(drawn) == []
    (panel,) = [a for a in drawn.axes if a.get_title(loc="left") == "Highest mould index"]
    assert {"3", "1", "5"} <= {text.get_text() for text in panel.texts}


def test_the_star_of_a_wall_at_the_edge_of_a_map_is_whole() -> None:
    drawn = steep_map((1.0, 0.5))
    (star,) = [line for axes in drawn.axes for line in axes.lines if line.get_marker() == "*"]
    assert not star.get_clip_on()


def bars(drawn: Figure) -> list[tuple[float, float]]:
    """Ends of the bars of a figure of reserves, panel by panel."""
    return [
        tuple(map(float, line.get_xdata()))  # type: ignore[arg-type, misc]
        for axes in drawn.axes
        for line in axes.lines
        if len(line.get_xdata()) == 2  # type: ignore[arg-type]
    ]


def test_reserves_run_from_what_a_wall_has_to_what_it_bears() -> None:
    """By hand: 36 to 45 % RH, 1 to 3.7 % of the rain; R 3.5 of which 2.2 is enough."""
    whole = Reserve(Bound(0.36, 0.45, 0.46), Bound(0.01, 0.037, 0.04), Bound(3.5, 2.2, 2.1))
    short = Reserve(Bound(0.36, 0.30, 0.31), None, Bound(1.0, None, 10.0))
    walls = [("a wall with a rather long name that goes on", whole), ("thin", short)]
    for system in ("si", "ip"):
        drawn = borne(walls, block=TitleBlock("x", "somewhere", ""), system=system)  # type: ignore[arg-type]
        assert overlaps(drawn) == []
        assert off_the_page(drawn) == []
        # what bears nothing, and what was not asked, has no bar
        assert bars(drawn) == [(0.36, 0.45), (0.36, 0.30), (0.01, 0.037), (3.5, 2.2)]
        lines = [line for axes in drawn.axes for line in axes.lines if len(line.get_xdata()) == 2]  # type: ignore[arg-type]
        colours = [line.get_color() for line in lines]
        assert colours[0] == colours[2] == colours[3] != colours[1]  # beyond its limits
    words = [text.get_text() for text in labels(borne(walls, block=TitleBlock("x", "", "")))]
    assert {"36 % → 45 %", "36 % → 30 %", "1 % → 3.7 %", "–"} <= set(words)
    assert "3.50 m²·K/W → 2.20 m²·K/W" in words
    assert "1.00 m²·K/W → none" in words


def test_a_transmittance_says_what_is_added() -> None:
    """By hand: 0.20 and a quarter more; in Btu/(h·ft²·°F) 0.20 is 0.2 / 5.678263."""
    walls = [Bar("clear", 0.20, 0.20), Bar("with a rather long name that goes on", 0.20, 0.25)]
    for system, factor in (("si", 1.0), ("ip", 1 / 5.678263)):
        drawn = transmittance(walls, block=TitleBlock("x", "y", ""), system=system)  # type: ignore[arg-type]
        assert overlaps(drawn) == []
        assert off_the_page(drawn) == []
        widths = [patch.get_width() for patch in drawn.axes[0].patches]  # type: ignore[attr-defined]
        assert widths == pytest.approx([0.2 * factor, 0.0, 0.2 * factor, 0.05 * factor], rel=1e-6)
        words = " ".join(text.get_text() for text in labels(drawn))
        assert "as clear" in words
        assert "+25 %" in words


def test_metal_stands_beside_the_face_where_it_ends() -> None:
    """Two days, a line for each place in either panel."""
    day = np.array(["2030-10-01", "2030-10-02"], dtype="datetime64[D]")
    runs = [
        Course("screws", day, np.array([1.0, 2.0]), np.array([0.7, 0.9])),
        Course("outboard, inner face", day, np.array([9.0, 9.5]), np.array([0.4, 0.5])),
    ]
    drawn = metal_course(runs, block=TitleBlock("x", "y", ""))
    assert overlaps(drawn) == []
    assert off_the_page(drawn) == []
    shown = [[list(line.get_ydata()) for line in axes.lines[:2]] for axes in drawn.axes]  # type: ignore[arg-type]
    assert shown[0] == [[1.0, 2.0], [9.0, 9.5]]
    assert shown[1][0] == pytest.approx([70.0, 90.0])
    assert {"screws", "outboard, inner face"} <= {text.get_text() for text in labels(drawn)}


def ranked(margins: list[float]) -> RankedYears:
    """Years with these reserves, the worst first."""
    count = len(margins)
    numbers = {"mc_30d_max": 0.21, "mould_index_max": 2.0}
    return RankedYears(
        tuple(
            Year(k, k, (count - k + 1) / count,
                 PointResult(k, {"year": k}, m > 0, m, "both", "", "drained_inside", "", numbers,
                             ""), 5.0, 500.0)
            for k, m in enumerate(margins, start=1)
        ),
        None,
    )  # fmt: skip


@pytest.mark.parametrize(
    "margins",
    [
        [-3.0, -0.4, -0.2, 0.1],
        [0.1, 0.2, 0.3],
        [math.nan, -0.1],
        list(np.linspace(-0.4, 0.2, 16)),
        list(np.linspace(-0.4, 0.2, 30)),
    ],
)
def test_ranked_years_show_the_reserve_they_are_ranked_by(margins: list[float]) -> None:
    """Bars in per cent of the limit, cut at a whole limit; without a reserve there is no bar."""
    drawn = figure_of_years(ranked(margins), title="x")
    assert overlaps(drawn) == []
    assert off_the_page(drawn) == []
    heights = [bar.get_height() for bar in drawn.axes[0].patches]  # type: ignore[attr-defined]
    expected = [0 if math.isnan(m) else 100 * max(-1, min(1, m)) for m in margins]
    assert heights == pytest.approx(expected)
    words = [text.get_text() for text in labels(drawn)]
    named = sum("run-off" in text for text in words)
    assert named == (len(margins) if len(margins) <= 16 else 0)


@pytest.mark.parametrize(
    ("contents", "indices"),
    [
        ((0.12, 0.19), (1.0, 2.9)),  # medians just below the limits of 20 % and 3
        ((0.18, 0.24), (2.2, 5.25)),  # on either side of them
        ((0.10, 0.40), (0.0, 5.25)),  # the most of them at the end of the axis
    ],
)
def test_no_line_runs_through_the_words_of_a_sample(
    contents: tuple[float, float], indices: tuple[float, float]
) -> None:
    shares = np.sqrt(np.linspace(0.0, 1.0, 64))
    numbers = [
        {key: low + (high - low) * share for key, (low, high) in
         (("mc_30d_max", contents), ("mould_index_max", indices))}
        for share in map(float, shares)
    ]  # fmt: skip
    results = [PointResult(k, {}, True, 0.1, "", "", "", "", x, "") for k, x in enumerate(numbers)]
    half = probability(0, 64)
    drawn = figure_of_sample(
        Sampled((), results, half, {}, {}, [Stage(64, half, {})], True), title="x"
    )
    assert overlaps(drawn) == []
    for axes in (drawn.axes[0], drawn.axes[1]):
        lines = [line.get_window_extent() for line in axes.lines]
        assert len(lines) == 3  # limit, median, 95 %
        for text in axes.texts:
            box = text.get_window_extent()
            assert not any(box.overlaps(line) for line in lines), text.get_text()
            assert box.x1 <= axes.bbox.x1, text.get_text()


@pytest.mark.parametrize(("draws", "tail"), [(8, False), (19, False), (20, True)])
def test_a_sample_of_few_draws_draws_no_tail_and_no_empty_axes(draws: int, tail: bool) -> None:
    numbers = [{"mc_30d_max": 0.12 + 0.002 * k, "mould_index_max": 0.1 * k} for k in range(draws)]
    results = [PointResult(k, {}, True, 0.1, "", "", "", "", x, "") for k, x in enumerate(numbers)]
    half = probability(0, draws)
    stages = [Stage(draws, half, {})]
    drawn = figure_of_sample(Sampled((), results, half, {}, {}, stages, True), title="x")
    for axes in drawn.axes[:2]:
        assert any(text.get_text().startswith("95 %") for text in axes.texts) is tail
        assert any(text.get_text().startswith("median") for text in axes.texts)
    panel = drawn.axes[2]
    assert not panel.axison
    assert [text.get_text() for text in panel.texts] == ["told from 32 draws on"]


def test_a_sample_names_its_inputs_in_words() -> None:
    """The words of a few names as a designer has them, and all of them whole in the figure."""
    words = {
        'factor."outboard insulation".conductivity': "outboard insulation: thermal conductivity",
        "factor.sheathing.vapour": "sheathing: vapour resistance",
        "factor.brick.absorption": "brick: water absorption",
        "rain_leak": "rain leak",
        "winter_rh": "indoor RH in winter",
        "inside.coefficient": "heat transfer coefficient inside",
        "outside.absorptance": "solar absorptance outside",
        "year": "year of the weather",
    }
    for name, told in words.items():
        assert says(name).removesuffix(" (factor)") == told
        assert ("(factor)" in says(name)) == name.startswith("factor")
    axes = tuple(Axis(name, says(name), "", "", None, None) for name in words)
    rows = [Sensitivity(name, 0.1, 0.1, 0.1, 0.5 - 0.1 * k) for k, name in enumerate(words)]
    results = [
        PointResult(k, {}, k < 16, 0.1, "", "", "", "", {"mc_30d_max": 0.15 + 0.003 * k,
                    "mould_index_max": 0.1 * k}, "") for k in range(32)
    ]  # fmt: skip
    half = probability(16, 32)
    found = Sampled(axes, results, half, {}, {"mc_30d_max": rows}, [Stage(32, half, {})], True)
    drawn = figure_of_sample(found, title="x")
    assert overlaps(drawn) == []
    assert off_the_page(drawn) == []
    shown = {" ".join(text.get_text().split()) for text in labels(drawn)}
    assert {says(name) for name in words} <= shown
