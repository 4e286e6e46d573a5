"""Every fast case of `hygro validate` passes, each row with its bound and the reason for it."""

from __future__ import annotations

from pathlib import Path
from typing import get_args

import pytest

from hygro.proof.check import PUBLISHED, READ_IN, Provenance
from hygro.proof.run import CASES, chosen, run_case

# Left to the command: the manufactured solution (half a minute of compiling), code tables and
# field trends (dozens of years), SUNDIALS twins (tests/twin runs more of them).
FAST = (
    "en15026_step",
    "hamstad_1",
    "hamstad_2",
    "hamstad_3",
    "hamstad_4",
    "hamstad_5",
    "heat_step_surface_coefficient",
    "periodic_transmission",
    "two_layer_radiation",
    "constant_diffusivity_uptake",
    "exponential_diffusivity_uptake",
    "cup_tests",
    "moisture_buffer",
    "stefan_one_phase",
    "stefan_two_phase",
    "moist_air",
    "wood_sorption",
    "sun_on_plane",
    "driving_rain",
    "indoor_climate",
    "monthly_method",
    "mould_index",
    "decay",
)


WORDS = get_args(Provenance)
"""What a row may say of its reference, and nothing else."""
READ = {
    "2021 IRC Table R702.7(1)": "the extract of the US DOE Building America Solution Center",
}
"""Documents of which a value was read, and in which text. A row more needs the text in hand."""


DIRECTIONS = ("code_tables", "field_trends")
"""Cases with rows that hold one run against another: no reference, so no word for it."""


def hold_provenance(source: str, provenance: str) -> None:
    """Only the five words; published only what was read in a text that the row names."""
    assert provenance in WORDS, source
    document, _, text = source.partition(READ_IN)
    assert (provenance == PUBLISHED) == (READ.get(document) == text != ""), source


@pytest.mark.parametrize("name", FAST)
def test_case_keeps_its_bounds(name: str) -> None:
    result = run_case(chosen([name])[0])
    assert result.checks
    missed = [c for c in result.checks if c.passed is not True and c.status != "shown"]
    for check in result.checks:
        hold_provenance(check.source, check.provenance or "")
    assert not missed, "\n".join(
        f"{c.quantity}: ours {c.ours} against {c.reference}, error {c.error} {c.error_unit}, "
        f"bound {c.bound}; {c.note}"
        for c in missed
    )


@pytest.mark.parametrize("name", ["cup_tests", "decay", "moist_air", "hamstad_5"])
def test_every_row_says_where_its_reference_is_from_and_why_its_bound(name: str) -> None:
    for check in run_case(chosen([name])[0]).checks:
        assert check.source
        assert check.provenance
        assert check.reason or check.status == "shown"
        assert check.error is None or check.bound is not None


def test_evaporative_cooling_shows_behind_films() -> None:
    """The cooled profile must not pass for the isothermal one: latent_effect.csv has 0.7 %."""
    from hygro.proof import drying, inputs

    cooled = drying.drying().checks[3]
    assert cooled.quantity == "content at 100 h, cooled by evaporation"
    effect = inputs.table("hamstad_2", "latent_effect.csv")["dw_100"]
    assert effect.max() > 0.17  # kg/m³, where w is 24.5 kg/m³
    assert cooled.error is not None
    assert cooled.error < 0.2  # % of about 25 kg/m³: a quarter of the effect


def test_the_page_of_checks_says_where_every_reference_is_from() -> None:
    """Rows of all cases, those too that no other test runs; the page is what the command wrote."""
    page = Path(__file__).parents[2] / "docs" / "validation.md"
    lines = page.read_text(encoding="utf-8").splitlines()
    rows = [[c.strip() for c in x.split(" | ")] for x in lines if x.startswith("| ")]
    head, *rows = rows
    source, provenance = head.index("Source"), head.index("Reference is")
    assert {row[0].strip("| ") for row in rows} == {case.name for case in CASES}
    for row in rows:
        if row[provenance] == "–":
            assert row[0].strip("| ") in DIRECTIONS, row
        else:
            hold_provenance(row[source], row[provenance])


def test_the_words_are_five() -> None:
    assert WORDS == (
        "exact solution",
        "own equations, other integrator",
        "own independent implementation",
        "value printed in a document, seen",
        "value remembered, not checked",
    )


def test_what_was_not_read_does_not_pass_for_published() -> None:
    for source in ("some digest", f"some digest{READ_IN}a text", "2021 IRC Table R702.7(1)"):
        with pytest.raises(AssertionError):
            hold_provenance(source, PUBLISHED)
    with pytest.raises(AssertionError):
        hold_provenance("by hand", "published value, seen")
