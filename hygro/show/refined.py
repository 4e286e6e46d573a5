"""Numbers of runs beside those of their finer repetitions."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from rich.table import Table

from hygro.assess.criteria import in_words
from hygro.show.tables import plain
from hygro.units import System, show, unit_of

if TYPE_CHECKING:
    from hygro.study.certainty import Certainty, Change

_MASS = "mass per area"

_NUMBERS: dict[str, tuple[str, float, int]] = {
    "mc_30d_max": ("moisture content of the sheathing, 30-day mean, %", 100.0, 2),
    "mc_24h_max": ("moisture content of the sheathing, 24-h mean, %", 100.0, 2),
    "mould_index_max": ("mould index", 1.0, 3),
    "rh_30d_max": ("RH at its more humid face, 30-day mean, %", 100.0, 2),
    "condensation_hours": ("hours in which condensate formed at its inner face", 1.0, 0),
    "dew_point_hours": ("its inner face at the indoor dew point, h", 1.0, 0),
    "hours_mc_above_20": ("sheathing above 20 % by mass, h", 1.0, 0),
}
"""Words, factor and digits of the numbers of `hygro.study.certainty` that have one unit."""


def certainty(checks: Sequence[Certainty], *, system: System = "si") -> Table:
    """Return the numbers of the runs beside those of their finer repetitions."""
    rows = [
        change_cells(item, check.scenario, system=system)
        for check in checks
        for item in check.changes
    ]
    headings = ("Highest of the run", "Leaks", "As run", "Cells halved", "Error")
    return plain("Numerical uncertainty", headings, rows)


def change_cells(item: Change, scenario: str, *, system: System = "si") -> tuple[str, ...]:
    """Return one number beside that of the finer run: words, run, as run, finer, error."""
    numbers = item.as_run, item.finer, item.error
    if item.key == "condensate_formed":
        unit = unit_of(_MASS, system=system)
        found = [show(x, _MASS, system=system, unit=False) for x in numbers]
        return (f"condensate formed there in a year, {unit}", scenario, *found)
    words, factor, digits = _NUMBERS[item.key]
    *runs, error = (factor * x for x in numbers)
    shown = [f"{x:.{digits}f}" for x in runs]
    return words, scenario, *shown, f"{error:+.{digits}f}"


def certainty_lines(checks: Sequence[Certainty]) -> list[str]:
    """Return what the finer runs were, and which criteria they turn."""
    tolerance = checks[0].settings.tolerance
    lines = [
        f"Error: twice the difference to a run with every cell halved and step tolerance "
        f"{tolerance:g}, a quarter of that of the run. Inputs, leaks and the model itself are less "
        "sure than that."
    ]
    turned = [f"{in_words(text)} ({c.scenario})" for c in checks for text in c.turned]
    if turned:
        return [
            *lines,
            "Within the limit in one run and beyond it in the other: " + "; ".join(turned),
        ]
    return [*lines, "The finer run is within and beyond the same limits."]
