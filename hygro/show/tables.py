"""Tables for the terminal: comparison, verdict, hand numbers, weather, materials. Owns the columns.

Returns rich renderables and lines of text; prints nothing and computes no rating.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

import numpy as np
from rich.box import SIMPLE_HEAD
from rich.table import Table

from hygro.assess.verdict import outcome_word
from hygro.show.converted import converted
from hygro.show.words import UNSEEN, facing, finding_word
from hygro.units import System, show, unit_of

if TYPE_CHECKING:
    from hygro.assess.criteria import Finding
    from hygro.assess.verdict import Verdict
    from hygro.study.certainty import Certainty
    from hygro.study.compare import Compared
    from hygro.study.hand import HandNumbers
    from hygro.study.runs import Outcome


def _table(title: str, *columns: tuple[str, str]) -> Table:
    table = Table(
        title=title,
        box=SIMPLE_HEAD,
        title_justify="left",
        title_style="bold",
        pad_edge=False,
        collapse_padding=True,
    )
    for heading, justify in columns:
        table.add_column(heading, justify=justify, overflow="fold")  # type: ignore[arg-type]
    return table


def percent(value: object) -> str:
    """Write a fraction as per cent; a dash where there is none."""
    return f"{100 * value:.1f}" if isinstance(value, int | float) else "–"


def number(value: object, digits: int = 1) -> str:
    """Write a number; a dash where there is none."""
    return f"{value:.{digits}f}" if isinstance(value, int | float) else "–"


def margin_words(margin: float | None) -> str:
    """Write a margin as signed per cent of the limit; a dash where none was judged."""
    if margin is None or not np.isfinite(margin):
        return "–"
    if abs(margin) < 0.005:
        return "at limit"
    if abs(margin) >= 10:
        return "> +999 %" if margin > 0 else "< -999 %"
    return f"{100 * margin:+.0f} %"


def comparison(compared: Sequence[Compared]) -> Table:
    """Return the side-by-side table: a line for each run, walls ranked by margin."""
    table = _table(
        "Comparison, best margin first",
        ("Wall", "left"),
        ("Leaks", "left"),
        ("Verdict", "left"),
        ("Margin", "right"),
        ("MC 30 d\n%", "right"),
        ("Mould\nindex", "right"),
        ("RH 30 d\n%", "right"),
        ("Cond.\nh", "right"),
    )
    for rank, item in enumerate(compared, start=1):
        for outcome in item.outcomes:
            first = outcome is item.outcomes[0]
            table.add_row(
                f"{rank} {item.name}" if first else "",
                _leaks_word(item, outcome),
                *_cells(outcome),
                style="" if outcome.verdict.passed is not False else "bold",
            )
    for column in table.columns[1:]:
        column.no_wrap = True
    return table


def walls(compared: Sequence[Compared], *, system: System = "si") -> Table:
    """Return what a hand calculation says of each wall, in the order of the comparison."""
    u_unit = unit_of("thermal transmittance", system=system)
    table = _table(
        "Walls by hand",
        ("Wall", "left"),
        ("Facing", "left"),
        (f"U\n{u_unit}", "right"),
        (f"U clear\n{u_unit}", "right"),
        ("R outb.\n%", "right"),
        ("least\n%", "right"),
    )
    for rank, item in enumerate(compared, start=1):
        hand = item.tight.hand
        table.add_row(
            f"{rank} {item.name}",
            facing(item.tight.run.wall.azimuth),
            show(hand.U_effective, "thermal transmittance", system=system, unit=False),
            show(hand.U, "thermal transmittance", system=system, unit=False),
            f"{100 * hand.outboard_share:.0f}",
            f"{100 * hand.least_share:.0f}",
        )
    return table


def _leaks_word(item: Compared, outcome: Outcome) -> str:
    if item.leaky is None:
        return "none set"
    return "on" if outcome.run.leaks else "off"


def _cells(outcome: Outcome) -> list[str]:
    numbers = outcome.numbers
    return [
        outcome_word(outcome.verdict.passed),
        margin_words(outcome.margin),
        percent(numbers["mc_30d_max"]),
        number(numbers["mould_index_max"], 2),
        percent(numbers["rh_30d_max"]),
        number(numbers["condensation_hours"], 0),
    ]


def reasons(compared: Sequence[Compared], *, system: System = "si") -> list[str]:
    """Return, wall by wall, a line for every hard criterion that fails or was not judged."""
    lines = []
    for item in compared:
        mine = [
            f"  leaks {_leaks_word(item, outcome)}: {converted(finding.reason, system)}"
            for outcome in item.outcomes
            for finding in outcome.verdict.findings
            if finding.hard and finding.passed is not True
        ]
        lines += [item.name, *mine] if mine else []
    return lines


def legend(compared: Sequence[Compared], *, system: System = "si") -> list[str]:
    """Return what the columns by hand mean, with the winter that they are computed for."""
    winters = {_winter(item.tight.hand, system): None for item in compared}
    return [
        "U with joints, framing and attachments, U clear without. R outb.: share of R outside the "
        "inner face of the sheathing; least: the least share that "
        "keeps this face at the indoor dew point in the three coldest months: " + "; ".join(winters)
    ]


def _winter(hand: HandNumbers, system: System) -> str:
    def say(value: float) -> str:
        return show(value, "temperature", system=system)

    return (
        f"outdoors {say(hand.winter_outdoor)}, indoors {say(hand.winter_indoor)} and "
        f"{100 * hand.winter_rh:.0f} % RH"
    )


def findings(verdict: Verdict, *, system: System = "si") -> list[Table]:
    """Return the findings of one run: the criteria that decide, and those that do not."""
    titles = {
        True: f"Criteria, sheathing '{verdict.sheathing}' ({verdict.sheathing_reason})",
        False: "Advisory, these decide nothing",
    }
    found = []
    for hard, title in titles.items():
        mine = [finding for finding in verdict.findings if finding.hard is hard]
        if mine:
            found.append(_findings(title, mine, system))
    return found


def _findings(title: str, findings: Sequence[Finding], system: System) -> Table:
    headings = ("Criterion", "Place", "Value", "Limit", "Margin", "")
    table = _table(title, *((h, "left" if i < 2 else "right") for i, h in enumerate(headings)))
    for column in table.columns[2:]:
        column.width = 8
    _finding_rows(table, findings, system)
    return table


def _finding_rows(table: Table, findings: Sequence[Finding], system: System) -> None:
    """A row for each finding; a criterion that goes on is not named again."""
    last = ""
    for finding in findings:
        quantity = converted(finding.criterion.quantity, system)
        table.add_row(
            "" if quantity == last else quantity,
            finding.place,
            *(converted(text, system) for text in _value_and_limit(finding)),
            margin_words(finding.margin),
            finding_word(finding.passed),
            style="bold" if finding.hard and finding.passed is False else "",
        )
        last = quantity


def _value_and_limit(finding: Finding) -> tuple[str, str]:
    row = finding.criterion
    value = "–" if finding.value is None else row.worded(finding.value)
    return value, row.worded(finding.limit)


def run_lines(item: Compared, *, system: System = "si") -> list[str]:
    """Return what is to be said of how the runs of a wall were made."""
    lines = []
    for outcome in item.outcomes:
        name = f"{item.name}, leaks {_leaks_word(item, outcome)}"
        if outcome.resumed is not None:
            lines.append(f"{name}: resumed at {outcome.resumed}")
        if outcome.recomputed:
            dates = ", ".join(outcome.recomputed)
            lines.append(f"{name}: kept years could not be read, computed again from {dates} on")
        if "periodic_rounds" in outcome.quality:
            line = (
                f"{name}: shown is the round after {outcome.quality['periodic_rounds']}, in the "
                f"last of which no layer changed by more than "
                f"{outcome.quality['periodic_drift']:.2g} kg/m²"
            )
            lines.append(converted(line, system))
    return lines


_NUMBERS = {
    "mc_30d_max": ("moisture content of the sheathing, 30-day mean, %", 100.0, 2),
    "mc_24h_max": ("moisture content of the sheathing, 24-h mean, %", 100.0, 2),
    "mould_index_max": ("mould index", 1.0, 3),
    "rh_30d_max": ("RH at its inner face, 30-day mean, %", 100.0, 2),
    "condensation_hours": ("condensation at its inner face, h", 1.0, 0),
    "dew_point_hours": ("its inner face at the indoor dew point, h", 1.0, 0),
    "hours_mc_above_20": ("sheathing above 20 % by mass, h", 1.0, 0),
}
"""Words, factor and digits of the numbers of `hygro.study.certainty`."""


def certainty(checks: Sequence[Certainty]) -> Table:
    """Return the numbers of the runs beside those of their finer repetitions."""
    rows = []
    for check in checks:
        for item in check.changes:
            words, factor, digits = _NUMBERS[item.key]
            values = (item.as_run, item.finer)
            shown = [f"{factor * value:.{digits}f}" for value in values]
            change = f"{factor * item.error:+.{digits}f}"
            rows.append((words, "on" if check.leaks else "off", *shown, change))
    headings = ("Highest of the run", "Leaks", "As run", "Cells halved", "Error")
    return plain("Numerical uncertainty", headings, rows)


def certainty_lines(checks: Sequence[Certainty]) -> list[str]:
    """Return what the finer runs were, and which criteria they turn."""
    tolerance = checks[0].settings.tolerance
    lines = [
        f"Error: twice the difference to a run with every cell halved and step tolerance "
        f"{tolerance:g}, a quarter of that of the run. Inputs, leaks and the model itself are less "
        "sure than that."
    ]
    turned = [f"{text} (leaks {'on' if c.leaks else 'off'})" for c in checks for text in c.turned]
    if turned:
        return [*lines, "Within limits in one and not in the other: " + "; ".join(turned)]
    return [*lines, "The finer run is within and above the same limits."]


def hand(numbers: HandNumbers, *, system: System = "si") -> Table:
    """Return the layers with R and permeance, outside to inside."""
    table = _table(
        "Layers, outside to inside",
        ("Layer", "left"),
        ("Made of", "left"),
        (f"Thickness\n{unit_of('length', system=system)}", "right"),
        (f"R\n{'ft²·h·°F/Btu' if system == 'ip' else unit_of('thermal resistance')}", "right"),
        (f"Permeance\n{unit_of('permeance', system=system)}", "right"),
    )
    for row in numbers.rows:
        table.add_row(
            row.name,
            converted(row.made_of, system),
            show(row.thickness, "length", system=system, unit=False) if row.thickness else "–",
            show(row.R, "thermal resistance", system=system, unit=False),
            show(row.permeance, "permeance", system=system, unit=False),
        )
    return table


def hand_lines(numbers: HandNumbers, *, system: System = "si") -> list[str]:
    """Return the hand numbers that stand beside the simulation, in words."""

    def say(value: float, kind: str) -> str:
        return show(value, kind, system=system)

    def both(U: float) -> str:
        R = say(1 / U, "thermal resistance")
        # "R-35" says R already
        return f"U {say(U, 'thermal transmittance')}, {R if R.startswith('R') else f'R {R}'}"

    return [
        f"{both(numbers.U)} from air to air, clear wall; with its joints, framing and attachments "
        f"{both(numbers.U_effective)}",
        f"share of R outside the inner face of '{numbers.sheathing}': "
        f"{100 * numbers.outboard_share:.0f} %; {100 * numbers.least_share:.0f} % would keep it at "
        f"the indoor dew point in the three coldest months",
        f"three coldest months: outdoors {say(numbers.winter_outdoor, 'temperature')}, indoors "
        f"{say(numbers.winter_indoor, 'temperature')} and {100 * numbers.winter_rh:.0f} % RH; that "
        f"face {say(numbers.face_temperature, 'temperature')}, indoor air condenses there from "
        f"{100 * numbers.highest_rh:.0f} % RH on",
        *(converted(note, system).replace("from memory", UNSEEN) for note in numbers.notes),
    ]


def plain(title: str, headings: Sequence[str], rows: Iterable[Sequence[str]]) -> Table:
    """Return a table of text; the first column stands left, the others right."""
    table = _table(title, *((h, "left" if i == 0 else "right") for i, h in enumerate(headings)))
    for row in rows:
        table.add_row(*row)
    return table
