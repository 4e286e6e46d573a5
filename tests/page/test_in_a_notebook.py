"""What values show of themselves in a notebook."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

import hygro
import weather
from hygro.case import load


def parsed(text: str) -> ET.Element:
    """The root of a piece of HTML that is well-formed XML too."""
    return ET.fromstring(f"<div>{text}</div>")


def words(text: str) -> str:
    return " ".join(" ".join(parsed(text).itertext()).split())


def test_a_wall_shows_its_section_and_elements() -> None:
    wall = load("demonstration").walls[0].wall
    shown = wall._repr_html_()
    drawing = next(part for part in parsed(shown) if part.tag.endswith("svg"))
    assert len([part for part in drawing.iter() if part.tag.endswith("path")]) > len(wall.layers)
    for element in wall.layers:
        assert element.name in words(shown)
    assert "var(--" not in shown
    assert re.search(r'aria-label="Section of', shown)


def test_a_name_is_escaped() -> None:
    layers = [hygro.Layer("osb", "11 mm", name="<i>board</i>")]
    assert "<i>" not in hygro.Wall("<b>", layers)._repr_html_()


def test_a_record_shows_its_verdict(results: Path) -> None:
    ds = hygro.open_record(results / "leaky-both-service.nc")
    shown = words(ds.hygro._repr_html_())
    assert ds.hygro.verdict().outcome in shown
    assert "room: home" in shown


def test_weather_shows_its_year() -> None:
    """Zone 7 and a mean of the twelve normals, as the file beside the case has them."""
    normals = hygro.read_normals(Path(__file__).parents[2] / "cases/demonstration/normals.toml")
    shown = words(weather.summarise(weather.generate(normals, years=1, seed=1))._repr_html_())
    assert "thermal zone 7" in shown
    mean = float(re.search(r"hour \S+ °C, (\S+) °C", shown)[1])  # type: ignore[index]
    assert mean == pytest.approx(1.875, abs=1.0)
