"""The order of walls: class first, then reserve, variants together; water is kilograms."""

from __future__ import annotations

from dataclasses import replace
from itertools import permutations

import numpy as np
import pytest
from assess_records import L, record
from feature_walls import frame

from hygro.assess import Criterion, verdict
from hygro.assess.verdict import Verdict, margin_words, reserve_words
from hygro.room.models import Constant
from hygro.study.compare import Compared
from hygro.study.plan import PlannedRun
from hygro.study.rank import ranked
from hygro.study.runs import Outcome
from hygro.wall.elements import Initial, Layer

YEAR = 8760
SERVICE = Criterion(key="s", quantity="s", limit=1.0)
CLOSING = Criterion(key="c", quantity="c", limit=1.0, question="closing in")
DRYING = Criterion(key="drying", quantity="d", limit=365.0, unit="d", question="closing in")


def wall(name: str, service: float, closing: float = 0.0, days: float = 0.0, **more: object):
    """A wall that uses so much of the limits of service and of closing in."""
    findings = (
        SERVICE.finding("p", service),
        CLOSING.finding("p", closing),
        DRYING.finding("p", days),
    )
    built = replace(frame(), name=name, **more)
    run = PlannedRun(name, built, Constant(294.15, 0.4))
    found = Verdict(findings, "p", "", 0.0, "", "")
    outcome = Outcome(run, found, {}, None, None, {})
    return Compared(name, (outcome,))


def thicker(metres: float) -> tuple:
    return tuple(
        replace(e, thickness=metres) if isinstance(e, Layer) and e.name == "wool" else e
        for e in frame().layers
    )


def wet_start() -> tuple:
    return tuple(
        replace(e, initial=Initial(moisture_content=0.26)) if isinstance(e, Layer) else e
        for e in frame().layers
    )


def names(*walls: Compared) -> list[str]:
    return [item.name for item in ranked(walls)]


def test_class_goes_before_reserve() -> None:
    walls = (
        wall("within", 0.9, layers=thicker(0.10)),
        wall("closing", 0.1, closing=1.1, layers=thicker(0.11)),
        wall("fails", 1.01, layers=thicker(0.12)),
    )
    for order in permutations(walls):
        assert names(*order) == ["within", "closing", "fails"]


def test_of_one_class_the_larger_reserve_goes_first() -> None:
    a, b = wall("a", 0.7, layers=thicker(0.1)), wall("b", 0.5, layers=thicker(0.2))
    assert names(a, b) == ["b", "a"]


def test_a_wet_start_never_stands_above_its_dry_twin_by_round_off() -> None:
    dry = wall("dry", 0.480002, days=0.0)
    wet = wall("wet", 0.480001, days=30.0, layers=wet_start())
    assert names(wet, dry) == ["dry", "wet"]


def test_variants_of_a_wall_stand_together() -> None:
    best, turned, wet = (
        wall("north", 0.5),
        wall("south", 0.9, azimuth=180.0),
        wall("wet", 0.8, layers=wet_start()),
    )
    other = wall("other", 0.6, layers=thicker(0.2))
    assert names(other, turned, wet, best) == ["north", "wet", "south", "other"]


def gaining() -> Verdict:
    layer = L("osb", 0.012, 600.0, wood=1, mould="sensitive", cells=1)
    front = L("cladding", 0.02, 1800.0, cells=1)
    water = np.stack(
        [np.full(2 * YEAR + 1, 100.0), 60.0 + 10.0 * np.arange(2 * YEAR + 1) / YEAR], axis=1
    )
    return verdict(record((front, layer), hours=2 * YEAR, water=water))


def test_water_gained_is_told_in_kilograms_and_is_no_share() -> None:
    found = gaining()
    assert [f.criterion.key for f in found.failed] == ["accumulation"]
    assert found.failed[0].margin is None
    # 10 kg/m³ a year in 12 mm
    assert found.failed[0].value == pytest.approx(0.12)
    assert reserve_words(found) == "gains 0.12 kg/m² a year"
    assert found.worst is found.failed[0]
    # at most 13.3 % of 20 % by mass: the gain does not enter the reserve
    assert found.reserve is not None
    assert 0.3 < found.reserve < 0.4


@pytest.mark.parametrize(
    ("margin", "words"),
    [
        (0.544, "+54 %"), (-0.004, "-0.4 %"), (0.0, "+0.0 %"), (-0.0, "-0.0 %"),
        (-12.0, "< -999 %"), (None, "–"),
    ],
)  # fmt: skip
def test_a_margin_never_hides_its_side_of_the_limit(margin, words: str) -> None:
    assert margin_words(margin) == words


def test_service_decides_before_closing_in() -> None:
    item = wall("w", 1.1, closing=3.0)
    worst = item.tight.verdict.worst
    assert worst is not None
    assert worst.criterion.key == "s"
    # 1.1 of a limit of 1: the three times of closing in belong to what does not decide
    assert item.tight.verdict.reserve == pytest.approx(-0.1)
