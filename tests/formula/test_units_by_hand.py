"""Units against their definitions (foot 0.3048 m, pound 0.45359237 kg, Btu 1055.05585262 J)."""

from __future__ import annotations

import pytest

from hygro.quantities import COMPASS
from hygro.units import convert, parse

FOOT, POUND, BTU = 0.3048, 0.45359237, 1055.05585262


@pytest.mark.parametrize(
    ("text", "kind", "value"),
    [
        ("60 mph", "speed", 60 * 1609.344 / 3600),
        ("36 km/h", "speed", 10.0),
        ("16 oz/ft2", "mass per area", POUND / FOOT**2),
        ("1 lb/ft2", "mass per area", POUND / FOOT**2),
        ("250 g/m2", "mass per area", 0.25),
        ("R-1", "thermal resistance", 5 / 9 * FOOT**2 * 3600 / BTU),
        ("1 Btu.in/(h.ft2.degF)", "conductivity", BTU * 0.0254 / (FOOT**2 * 3600 * 5 / 9)),
        ("2 in", "water sum", 50.8),
        ("32 degF", "temperature", 273.15),
        ("9 degF", "temperature difference", 5.0),
        ("1 perm.in", "permeability", 57.2e-12 * 0.0254),
        ("60 cfm/ft2", "air flow", FOOT),
        ("3.6 m3/(h.m2)", "air flow", 1e-3),
        ("2 m sd", "permeance", 1e-10),
        ("10 lb/day", "moisture production", 4.5359237 / 86400),
        ("1 Btu/(ft2.day)", "irradiance", BTU / FOOT**2 / 86400),
        ("1 kWh/(m2.day)", "irradiance", 1000 / 24),
        ("1 inwg", "pressure", 249.089),  # water at 4 °C, conventional (from memory)
        ("7000 gr/ft3", "moisture load", POUND / FOOT**3),
        ("10 mil", "length", 0.254e-3),
        ("1/2 in", "length", 0.0127),
        ("5 1/2 in", "length", 0.1397),
        ("1 lb/ft3", "density", 16.018463),
    ],
)
def test_units_have_the_value_of_their_definition(text: str, kind: str, value: float) -> None:
    assert parse(text, kind) == pytest.approx(value, rel=1e-6)


def test_compass_goes_clockwise_from_north() -> None:
    assert [COMPASS[name] for name in ("N", "E", "S", "W", "NE")] == [0, 90, 180, 270, 45]


def test_a_temperature_goes_to_fahrenheit_and_a_permeance_to_a_depth_of_air() -> None:
    assert convert(283.15, "temperature", "degF") == pytest.approx(50.0, abs=1e-9)
    assert convert(1e-10, "permeance", "m sd") == pytest.approx(2.0, rel=1e-12)
