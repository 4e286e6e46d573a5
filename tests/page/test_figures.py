"""Figures of records, weather and materials: legible, also in grey, and of the right numbers."""

from __future__ import annotations

import html
import re
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import xarray as xr
from assess_records import record
from figure_labels import labels, off_the_page, overlaps
from matplotlib.colors import to_rgb
from matplotlib.figure import Figure
from typer.testing import CliRunner

import hygro
import weather
from hygro.assess.envelope import envelope
from hygro.assess.field import depth_time, stepwise
from hygro.assess.months import monthly_balance
from hygro.assess.places import find_sheathing
from hygro.cli import app
from hygro.material.library import library
from hygro.show import of_record, reserves, style
from hygro.show.curves import KINDS, curves
from hygro.show.monthly import WAYS, monthly
from hygro.show.scales import SCALES
from hygro.show.svg import svg
from hygro.show.title_block import TitleBlock
from hygro.show.weather_year import weather_year

BLOCK = TitleBlock("a wall with a rather long name that goes on " * 3, "somewhere; " * 30, "fails")
BAR = reserves.Bar("one", None, None, "not judged")
DRAWN: dict[str, Callable[[xr.Dataset], Figure]] = {
    "series": of_record.time_series,
    "depth": of_record.depth_map,
    "months": of_record.months,
    "envelope": of_record.envelope,
    "reserve": of_record.reserve,
    "section": of_record.section,
}


@pytest.fixture(scope="module")
def ds(results: Path) -> xr.Dataset:
    return hygro.open_record(results / "leaky-both-service.nc")


@pytest.mark.parametrize("kind", DRAWN)
def test_no_label_of_a_figure_lies_on_another_or_off_the_page(kind: str, ds: xr.Dataset) -> None:
    figure = DRAWN[kind](ds)
    assert overlaps(figure) == []
    assert off_the_page(figure) == []


@pytest.mark.parametrize("kind", DRAWN)
def test_a_figure_says_which_wall_where_and_how_it_is_judged(kind: str, ds: xr.Dataset) -> None:
    words = " ".join(text.get_text() for text in labels(DRAWN[kind](ds)))
    assert "leaky" in words
    if kind != "section":
        assert all(x in words for x in ("room: home", "facing N", "1 year", "rain and air leaks"))
        assert ds.hygro.verdict().outcome in words


def test_labels_of_long_names_keep_apart(ds: xr.Dataset) -> None:
    balance = monthly_balance(ds, find_sheathing(ds))
    found = [monthly(balance, block=BLOCK), reserves.reserves([BAR], block=BLOCK)]
    bars = [reserves.Bar("x" * 90, (-1) ** k * 0.3 * k, k % 2 == 0, "+100 %") for k in range(30)]
    found.append(reserves.reserves(bars, block=BLOCK))
    for figure in found:
        assert overlaps(figure) == []
        assert off_the_page(figure) == []


@pytest.mark.parametrize("kind", KINDS)
def test_curves_of_many_materials_keep_their_names_apart(kind: str) -> None:
    figure = curves(list(library().values()), kind)
    assert figure is not None
    assert overlaps(figure) == []
    assert off_the_page(figure) == []


def test_weather_draws_itself(ds: xr.Dataset) -> None:
    normals = Path(__file__).parents[2] / "cases/demonstration/normals.toml"
    found = weather.generate(hygro.read_normals(normals), years=1, seed=1)
    figure = weather_year(found)
    assert overlaps(figure) == []
    assert off_the_page(figure) == []
    rain = [bar.get_height() for bar in figure.axes[2].patches]
    assert sum(rain) == pytest.approx(float(found["rain"].sum()))


def test_a_drawing_of_a_page_says_what_the_figure_says(ds: xr.Dataset) -> None:
    """Places are rounded to a tenth of a point, words and numbers of ticks are not."""
    figure = monthly(monthly_balance(ds, find_sheathing(ds)))
    figure.axes[0].set_yticks([-0.25, 0.0, 0.125])
    drawn = svg(figure, "x", "words")
    told = {html.unescape(text) for text in re.findall(r"<text[^>]*>([^<]*)</text>", drawn)}
    assert {line for t in labels(figure) for line in t.get_text().split("\n")} <= told
    assert {"−0.250", "0.125"} <= told
    assert not re.search(r'[ "(]-?\d+\.\d\d', "".join(re.findall(r"<path[^>]*>", drawn)))


def luminance(colour: str) -> float:
    """Grey of a colour, ITU-R BT.709 weights."""
    return float(np.dot((0.2126, 0.7152, 0.0722), to_rgb(colour)))


@pytest.mark.parametrize("name", SCALES)
def test_a_scale_keeps_its_order_in_grey(name: str) -> None:
    """Lightness runs one way, and neighbours differ by 2 % of white at least (our choice)."""
    greys = [luminance(colour) for colour in SCALES[name].colours]
    steps = [b - a for a, b in pairwise(greys)]
    assert all(s > 0.02 for s in steps) or all(s < -0.02 for s in steps)
    assert len(greys) == len(SCALES[name].breaks) + 1


def test_a_scale_speaks_both_families_of_units() -> None:
    """0 °C is 32 °F, 25 °C is 77 °F; 1 lb/ft³ is 16.01846 kg/m³."""
    T, water = SCALES["temperature"], SCALES["water_content"]
    assert T.values([273.15, 298.15], "ip") == pytest.approx([32.0, 77.0])
    assert T.edges("ip")[4] == pytest.approx(32.0)
    assert water.values([16.01846], "ip") == pytest.approx([1.0], rel=1e-6)
    assert water.edges() == pytest.approx(water.breaks)
    assert (T.heading(), T.heading("ip")) == ("Temperature, °C", "Temperature, °F")


def test_ways_of_water_differ_in_grey_or_hatch() -> None:
    told = {(round(luminance(face), 1), hatch) for _, face, hatch in WAYS.values()}
    assert len(told) == len(WAYS)


def test_the_line_is_the_daily_mean_of_the_record(ds: xr.Dataset) -> None:
    (line,) = [x for x in of_record.time_series(ds).axes[0].lines if len(x.get_xdata()) > 2]
    content = ds.hygro.moisture_content("sheathing").values[1:].reshape(-1, 24).mean(axis=1)
    assert line.get_ydata() == pytest.approx(100.0 * content)


def test_the_water_of_a_month_is_what_the_record_holds(ds: xr.Dataset) -> None:
    """Change, leaks and closure of March, from hourly arrays taken here."""
    found = monthly_balance(ds, find_sheathing(ds))
    assert found.layers == ("sheathing", "batt")
    water = ds["layer_water"].values[:, 1:].sum(axis=1)
    first, last = 59 * 24, 90 * 24  # days before March and before April
    assert found.change[2] == pytest.approx(water[last] - water[first], abs=1e-12)
    leaked = 3600.0 * ds["leak_rain"].values[first + 1 : last + 1].sum()
    assert found.flows["rain leaks"][2] == pytest.approx(leaked, rel=1e-9)
    dropped = 3600.0 * ds["leak_vapour"].values[first + 1 : last + 1].sum()
    assert found.flows["air leaks"][2] == pytest.approx(dropped, rel=1e-9)
    assert leaked > 0.0
    assert found.residual < 1e-9


def test_a_balance_by_hand() -> None:
    """40 days from 1 October: 1 g/(m²·h) leaks into the whole wall and 0.4 g drains."""
    made = record(flows={"leak_rain": 1e-3 / 3600, "drained": 4e-4 / 3600})
    found = monthly_balance(made, find_sheathing(made))
    assert [str(m) for m in found.month] == ["2030-10", "2030-11"]
    assert found.flows["rain leaks"] == pytest.approx([0.744, 0.216])  # 31 and 9 days
    assert found.flows["drained"] == pytest.approx([-0.2976, -0.0864])
    assert found.residual == pytest.approx(0.4464)  # the hand-made water stays as it was


def test_a_map_thins_by_means() -> None:
    """A ramp of one an hour: means of 6 h are 3.5, 9.5, ...; cells of a layer by thickness."""
    ramp = np.arange(49.0)
    assert stepwise(ramp, 6)[:3] == pytest.approx([3.5, 9.5, 15.5])
    made = record(hours=48, temperature=280.0 + ramp[:, None] * np.ones((1, 16)) / 10)
    found = depth_time(made, step=24, finest=1.0)
    assert [band.name for band in found.bands] == ["cladding", "osb", "wool", "board"]
    assert found.fields["temperature"][:, 1] == pytest.approx([281.25, 283.65])
    assert [round(1e3 * band.inner, 6) for band in found.bands] == [20.0, 32.0, 172.0, 184.5]


def test_water_by_month_is_in_ounces_where_asked(ds: xr.Dataset) -> None:
    """1 kg/m² is 0.32771 oz/ft² times 10: 16 oz / 0.45359237 kg · 0.09290304 m²/ft²."""
    balance = monthly_balance(ds, find_sheathing(ds))
    factor = 16 / 0.45359237 * 0.09290304
    si, ip = (monthly(balance, system=s).axes[0] for s in ("si", "ip"))  # type: ignore[arg-type]
    assert (si.get_title("left"), ip.get_title("left")) == (
        "Water by month, kg/m²", "Water by month, oz/ft²",
    )  # fmt: skip
    heights = [np.array([bar.get_height() for bar in axes.patches]) for axes in (si, ip)]
    assert np.abs(heights[0]).max() > 0.01
    assert heights[1] == pytest.approx(factor * heights[0])
    lines = [axes.lines[0].get_ydata() for axes in (si, ip)]
    assert lines[1] == pytest.approx(factor * np.asarray(lines[0]))


@pytest.mark.parametrize(
    ("kind", "key", "unit", "factor"),
    [
        ("storage", "osb", "lb/ft³", 1 / 16.018463),  # kg/m³ in a pound to the cubic foot
        ("vapour", "osb", "perm·in", 1 / 1.45288),  # 57.2 ng times an inch of 0.0254 m
        ("sheets", "membrane-35-perm", "perm", 1 / 57.2),
        ("thermal", "osb", "Btu·in/(h·ft²·°F)", 6.933472),  # ASTM C168, as remembered
    ],
)
def test_curves_are_in_the_units_of_the_trade(
    kind: str, key: str, unit: str, factor: float
) -> None:
    drawn = [curves([library()[key]], kind, system=s) for s in ("si", "ip")]  # type: ignore[arg-type]
    axes = [figure.axes[0] for figure in drawn if figure is not None]
    assert axes[1].get_title("left").endswith(f", {unit}")
    si, ip = (np.asarray(found.lines[0].get_ydata()) for found in axes)
    assert ip == pytest.approx(factor * si, rel=1e-5)


def test_depth_envelope_and_weather_are_in_the_units_of_the_trade(ds: xr.Dataset) -> None:
    """32 °F is 0 °C, an inch 25.4 mm."""
    words = {
        text.get_text()
        for figure in (of_record.envelope(ds, "temperature", system="ip"),)
        for text in labels(figure)
    }
    assert {"Temperature, °F", "depth from the outdoor surface, in"} <= words
    axes = of_record.envelope(ds, "temperature", system="ip").axes[0]
    assert any(abs(line.get_ydata()[0] - 32.0) < 1e-9 for line in axes.lines)
    # 8 mm of cladding, 20 of air, 11 of board, 140 of batt
    assert axes.get_xlim()[1] == pytest.approx(179 / 25.4)
    normals = Path(__file__).parents[2] / "cases/demonstration/normals.toml"
    found = weather.generate(hygro.read_normals(normals), years=1, seed=1)
    figure = weather_year(found, system="ip")
    assert overlaps(figure) == []
    rain = [bar.get_height() for bar in figure.axes[2].patches]
    assert sum(rain) == pytest.approx(float(found["rain"].sum()) / 25.4)
    told = " ".join(text.get_text() for text in labels(figure))
    assert "°C" not in told
    assert "mm" not in told


def test_an_envelope_by_hand() -> None:
    """October at 50 %, then nine days of November at 70 and 90 % by turns of a day."""
    days = np.repeat(np.r_[np.full(31, 0.5), np.resize([0.7, 0.9], 9)], 24)
    made = record(rh=np.r_[0.5, days][:, None] * np.ones((1, 16)))
    found = envelope(made)
    assert found.mean[9] == pytest.approx(0.5)
    assert found.least[10] == pytest.approx(0.7)
    assert found.most[10] == pytest.approx(0.9)
    assert found.mean[10] == pytest.approx((5 * 0.7 + 4 * 0.9) / 9)
    assert np.isnan(found.mean[0]).all()


@pytest.mark.parametrize("end", ["png", "svg", "pdf"])
def test_the_command_writes_every_format(end: str, results: Path, tmp_path: Path) -> None:
    out = tmp_path / f"x.{end}"
    done = CliRunner().invoke(app, ["plot", "depth", str(results / "plain.nc"), "--out", str(out)])
    assert done.exit_code == 0, done.output
    start = {"png": b"\x89PNG", "svg": b"<?xml", "pdf": b"%PDF"}[end]
    assert out.read_bytes().startswith(start)


def test_the_command_refuses_what_it_cannot_draw(results: Path, tmp_path: Path) -> None:
    def told(*arguments: str) -> str:
        done = CliRunner().invoke(app, ["plot", *arguments])
        assert done.exit_code == 2
        return done.output

    plain = str(results / "plain.nc")
    assert "ends in .png" in told("depth", plain, "--out", str(tmp_path / "x.gif"))
    assert "takes one file; given 2" in told("series", plain, plain)
    assert "unknown" in told("materials", "osb", "--curve", "storag")
    assert "has a curve 'sheets'" in told("materials", "osb", "--curve", "sheets")
    assert "holds no result" in told("reserve", str(tmp_path))


def test_pens_of_bars_differ_without_colour() -> None:
    told = {reserves.HATCHES[passed] for passed in (True, False, None)}
    assert len(told) == 3
    assert style.PAPER not in reserves.FACES.values()
