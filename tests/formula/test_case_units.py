"""The unit parser against the definitions of the units, both families."""

from __future__ import annotations

import pytest

from hygro.errors import InputError
from hygro.quantities import QUANTITIES
from hygro.units import convert, parse, show

# Definitions: international inch 25.4 mm, pound 0.45359237 kg, Btu (IT) 1055.05585262 J,
# perm 57.2135 ng/(Pa·s·m²) of which the package uses the rounded 57.2.
WRITTEN = [
    ("140 mm", "length", 0.140),
    ("5.5 in", "length", 0.1397),
    ('5.5"', "length", 0.1397),
    (0.14, "length", 0.14),
    ("35 %", "fraction", 0.35),
    ("35%", "fraction", 0.35),
    (0.35, "fraction", 0.35),
    ("21 degC", "temperature", 294.15),
    ("21 °C", "temperature", 294.15),
    ("70 degF", "temperature", 294.2611111),
    ("-40 degF", "temperature", 233.15),
    ("295 K", "temperature", 295.0),
    ("1 perm", "permeance", 57.2e-12),
    ("57 ng/(Pa.s.m2)", "permeance", 57e-12),
    ("57 ng/(Pa·s·m²)", "permeance", 57e-12),
    ("3.5 m sd", "permeance", 2e-10 / 3.5),
    ("R-11.25", "thermal resistance", 1.98125),
    ("R11.25", "thermal resistance", 1.98125),
    ("RSI-2", "thermal resistance", 2.0),
    ("0.1 L/(s.m2)", "air flow", 1e-4),
    ("0.02 cfm/ft2", "air flow", 1.016e-4),
    ("300 ACH", "air change", 300.0),
    ("500 g/m2", "mass per area", 0.5),
    ("10 L/day", "moisture production", 10 / 86400),
    ("NE", "angle", 45.0),
    (135, "angle", 135.0),
    ("14 days", "time", 336.0),
]


@pytest.mark.parametrize(("text", "kind", "value"), WRITTEN)
def test_written_quantity_becomes_the_si_value(text: object, kind: str, value: float) -> None:
    # 1e-5: the printed R value above has six digits
    assert parse(text, kind) == pytest.approx(value, rel=1e-5)


@pytest.mark.parametrize("kind", sorted(QUANTITIES))
def test_every_unit_returns_to_the_number_it_came_from(kind: str) -> None:
    for unit in QUANTITIES[kind].factors:
        si = parse(f"12.5 {unit}", kind)
        assert convert(si, kind, unit) == pytest.approx(12.5, rel=1e-12)  # round-off only


@pytest.mark.parametrize(
    ("value", "kind", "words"),
    [
        ("5.5 inn", "length", "did you mean 'in'"),
        ("thick", "length", "must start with a number"),
        (True, "length", "must be a number"),
        ([1], "length", "must be a number"),
        (float("nan"), "fraction", "finite"),
        (float("inf"), "length", "finite"),
        ("1e999 m", "length", "finite"),
        ("0 m sd", "permeance", "finite"),
        ("3 perm", "length", "not a unit of length"),
    ],
)
def test_what_is_no_quantity_is_refused_with_the_reason(
    value: object, kind: str, words: str
) -> None:
    with pytest.raises(InputError, match=words):
        parse(value, kind)


@pytest.mark.parametrize(
    ("value", "kind", "system", "text"),
    [
        (0.140, "length", "si", "140 mm"),
        (0.1397, "length", "ip", "5 1/2 in"),
        (294.15, "temperature", "si", "21.0 °C"),
        (294.15, "temperature", "ip", "69.8 °F"),
        (1.98125, "thermal resistance", "ip", "R-11.3"),
        (1.98125, "thermal resistance", "si", "1.98 m²·K/W"),
        (57.2e-12, "permeance", "ip", "1.00 perm"),
        (0.35, "fraction", "si", "35.0 %"),
    ],
)
def test_si_value_is_shown_in_either_family(
    value: float, kind: str, system: str, text: str
) -> None:
    assert show(value, kind, system=system) == text
