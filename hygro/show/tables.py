"""Tables for the terminal: comparison, verdict, hand numbers, weather, materials. Owns the columns.

Returns rich renderables and lines of text; prints nothing and computes no rating.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from rich.box import SIMPLE_HEAD
from rich.console import JustifyMethod
from rich.table import Table

from hygro.assess.criteria import in_words
from hygro.assess.criteria.moisture import FIBRE_SATURATION
from hygro.assess.questions import once
from hygro.assess.verdict import deciding_words, margin_words, reserve_words
from hygro.show.converted import converted
from hygro.show.words import MARKS, ORIGINS, facing
from hygro.solve.control import DRIFT
from hygro.study.reserve import bears, per_cent
from hygro.units import System, show, unit_of

if TYPE_CHECKING:
    from hygro.assess.criteria import Finding
    from hygro.assess.verdict import Verdict
    from hygro.study.certainty import Certainty, Change
    from hygro.study.compare import Compared
    from hygro.study.hand import HandNumbers
    from hygro.study.runs import Outcome


def listed(title: str, *columns: tuple[str, JustifyMethod]) -> Table:
    """Return an empty table with headings and sides."""
    table = Table(
        title=title,
        box=SIMPLE_HEAD,
        title_justify="left",
        title_style="bold",
        pad_edge=False,
        collapse_padding=True,
    )
    for heading, justify in columns:
        table.add_column(heading, justify=justify, overflow="fold")
    return table


def percent(value: object) -> str:
    """Write a fraction as per cent; a dash where there is none."""
    return f"{100 * value:.1f}" if isinstance(value, int | float) else "–"


def moisture(value: object) -> str:
    """Write a moisture content by mass as per cent; beyond fibre saturation only that it is."""
    if isinstance(value, int | float) and value > FIBRE_SATURATION:
        return f"> {100 * FIBRE_SATURATION:.0f}"
    return percent(value)


def number(value: object, digits: int = 1) -> str:
    """Write a number; a dash where there is none."""
    return f"{value:.{digits}f}" if isinstance(value, int | float) else "–"


_COLUMNS: tuple[tuple[str, int, JustifyMethod], ...] = (
    ("Leaks", 8, "left"),
    ("Verdict", 16, "left"),
    ("Reserve", 8, "right"),
    ("Decided by", 20, "left"),
    ("MC\n30 d %", 6, "right"),
    ("skin\n%", 4, "right"),
    ("Mould\nindex", 5, "right"),
    ("RH\n30 d %", 6, "right"),
)
"""Headings, letters and sides of the comparison: with a space between them 80 letters."""


def comparison(compared: Sequence[Compared], *, system: System = "si") -> list[Table]:
    """Return the side-by-side table: its head, and a part for each wall, best first."""
    parts = [_part("Comparison, best first")]
    parts[0].show_header = True
    for rank, item in enumerate(compared, start=1):
        part = _part(f"{rank} {item.name}{_decides(item)}")
        for outcome in item.outcomes:
            style = "bold" if outcome.verdict.passed is False else ""
            part.add_row(_leaks_word(item, outcome), *_cells(outcome, system), style=style)
        parts.append(part)
    return parts


def _part(title: str) -> Table:
    """One part; all have the same columns, so that they stand below each other."""
    part = Table(
        title=title,
        box=None,
        title_justify="left",
        title_style="bold",
        padding=(0, 1, 0, 0),
        pad_edge=False,
        show_header=False,
    )
    for heading, width, side in _COLUMNS:
        part.add_column(heading, width=width, justify=side, overflow="fold")
    return part


def _decides(item: Compared) -> str:
    """Class of a wall with leaks, the scenario that it comes from, and the humidity it bears."""
    decided = f"decided by '{item.deciding.run.scenario}'"
    parts = [] if item.leaky is None else [item.outcome, decided]
    parts += [item.reserve.words] if item.reserve is not None and item.reserve.words else []
    return f": {', '.join(parts)}" if parts else ""


def reserves(compared: Sequence[Compared], *, system: System = "si") -> Table:
    """Return how much more each wall bears, in the order of the comparison."""

    def resistances(value: float) -> str:
        return show(value, "thermal resistance", system=system)

    rows = [
        (
            f"{rank} {item.name}",
            bears(item.reserve.winter_rh, per_cent),
            bears(item.reserve.rain, per_cent),
            bears(item.reserve.outboard, resistances, least=True),
        )
        for rank, item in enumerate(compared, start=1)
        if item.reserve is not None
    ]
    headings = ("Wall", "Highest\nwinter RH", "Highest\nrain share", "Least R\noutboard")
    return plain("Reserve: what each wall bears, one number at a time", headings, rows)


def reserve_lines(compared: Sequence[Compared]) -> list[str]:
    """Return what fails just beyond the reserve of each wall, and what the numbers are."""
    lines = [
        "Mean indoor RH of the three coldest months, by vapour added in cold weather; share of the "
        "driving rain that leaks; R of the insulation outward of the sheathing, as cold as in U. "
        "'≥' and '≤': the end of the range tried; none: not even its mild end; –: not asked."
    ]
    for item in compared:
        for name, bound in item.reserve.bounds.items() if item.reserve is not None else ():
            if bound is not None and bound.blamed:
                words = {"winter_rh": "RH", "rain": "rain", "outboard": "R outboard"}[name]
                lines.append(f"{item.name}, beyond its {words}: {in_words(bound.blamed[0])}")
    return lines


def walls(compared: Sequence[Compared], *, system: System = "si") -> Table:
    """Return what a hand calculation says of each wall, in the order of the comparison."""
    u_unit = unit_of("thermal transmittance", system=system)
    table = listed(
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
    return outcome.run.scenario


def _cells(outcome: Outcome, system: System) -> list[str]:
    numbers = outcome.numbers
    return [
        outcome.verdict.outcome,
        converted(reserve_words(outcome.verdict), system),
        deciding_words(outcome.verdict),
        moisture(numbers["mc_30d_max"]),
        moisture(numbers["mc_30d_skin_max"]),
        number(numbers["mould_index_max"], 1),
        percent(numbers["rh_30d_max"]),
    ]


def reasons(compared: Sequence[Compared], *, system: System = "si") -> list[str]:
    """Return, wall by wall, why it is not within limits.

    The scenario that decides gives its reasons; another one only those of criteria that the
    deciding one meets. Closing in is left out where service fails.
    """
    lines = []
    for item in compared:
        first = item.deciding
        told = {f.criterion.key for f in _blamed(first)}
        mine = [_reason(item, first, f, system) for f in _blamed(first)]
        for outcome in item.outcomes:
            more = [f for f in _blamed(outcome) if f.criterion.key not in told]
            mine += [_reason(item, outcome, f, system) for f in more]
        others = [o.run.scenario for o in item.outcomes if _blamed(o) and o is not first]
        mine += [f"  not within limits either: {', '.join(others)}"] if others else []
        lines += [item.name, *mine] if mine else []
    return lines


def _reason(item: Compared, outcome: Outcome, finding: Finding, system: System) -> str:
    return f"  {_leaks_word(item, outcome)}: {converted(finding.reason, system)}"


def _blamed(outcome: Outcome) -> list[Finding]:
    """Hard findings that keep a run from being within limits; of service first."""
    found = [f for f in outcome.verdict.findings if f.hard and f.passed is not True]
    service = [f for f in found if f.criterion.question == "service"]
    return service if outcome.verdict.passed_in("service") is False else found


def notes(compared: Sequence[Compared], *, system: System = "si") -> list[str]:
    """Return what must be known beside the findings: notes on leaks, then those of the verdicts."""
    lines = []
    for names, told in leak_notes(compared, system=system).items():
        lines += [names, *(f"  {note}" for note in told)]
    return [*lines, *verdict_notes(compared, system=system)]


def leak_notes(compared: Sequence[Compared], *, system: System = "si") -> dict[str, list[str]]:
    """Return the notes on leaks by the names of the walls that have them, each note once."""
    walls: dict[str, list[str]] = {}
    for item in compared:
        for note in item.leak_notes:
            walls.setdefault(converted(note, system), []).append(item.name)
    found: dict[str, list[str]] = {}
    for note, names in walls.items():
        found.setdefault(", ".join(names), []).append(note)
    return found


def verdict_notes(compared: Sequence[Compared], *, system: System = "si") -> list[str]:
    """Return the notes of all verdicts, each once."""
    notes = (
        note for item in compared for outcome in item.outcomes for note in outcome.verdict.notes
    )
    return [converted(note, system) for note in once(notes)]


def legend(compared: Sequence[Compared], *, system: System = "si") -> list[str]:
    """Return what the columns by hand mean, with the winter that they are computed for."""
    winters = {_winter(item.tight.hand, system): None for item in compared}
    rooms = {room_words(item.tight.hand): None for item in compared}
    short = [
        f"'{item.name}'" for item in compared if item.tight.hand.code and item.tight.hand.code.below
    ]
    below = [f"below the code's R outside of the framing (see `run`): {', '.join(short)}"]
    return [
        *rooms,
        *(below if short else []),
        converted("MC: of the whole sheathing, skin: of its wetter outer or inner 3 mm", system),
        "U with joints, framing and attachments, U clear without. R outb.: share of R outside the "
        "inner face of the sheathing; least: the least share that keeps this face at the indoor "
        "dew point in the three coldest months: " + "; ".join(winters),
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
    table = listed(title, *((h, "left" if i < 2 else "right") for i, h in enumerate(headings)))
    for column in table.columns[2:]:
        column.width = 8
    table.columns[-1].width = 12
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
            finding.outcome.removeprefix("advisory: "),
            style="bold" if finding.hard and finding.passed is False else "",
        )
        last = quantity


def sources(verdict: Verdict) -> list[str]:
    """Return where the limits that decide come from, and how surely they are known here."""
    rows = dict.fromkeys(finding.criterion for finding in verdict.findings if finding.hard)
    return list(
        dict.fromkeys(f"{row.quantity}: {row.source} ({ORIGINS[row.origin]})" for row in rows)
    )


def _value_and_limit(finding: Finding) -> tuple[str, str]:
    row = finding.criterion
    value = "–" if finding.value is None else row.shown(finding.value)
    return value, row.worded(finding.limit)


def run_lines(item: Compared, *, system: System = "si") -> list[str]:
    """Return what is to be said of how the runs of a wall were made, and when it was dry."""
    lines = []
    for outcome in item.outcomes:
        name = f"{item.name}, {_leaks_word(item, outcome)}"
        if outcome.resumed is not None:
            lines.append(f"{name}: resumed at {outcome.resumed}")
        if outcome.recomputed:
            dates = ", ".join(outcome.recomputed)
            lines.append(f"{name}: kept years could not be read, computed again from {dates} on")
        drift = float(str(outcome.quality.get("periodic_drift", 0.0)))
        if drift > DRIFT:
            line = (
                f"{name}: not settled after {outcome.quality['periodic_rounds']} rounds, in the "
                f"last of which a layer changed by {drift:.2g} kg/m²"
            )
            lines.append(converted(line, system))
    drying = [f.passed for outcome in item.outcomes for f in outcome.verdict.of("drying") if f.hard]
    if item.days_to_dry:
        told = "stays below 20 %" if all(drying) else "is still wet"
        lines.append(f"{item.name}: wood {told} after {item.days_to_dry:.0f} d")
    return lines


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


def hand(numbers: HandNumbers, *, system: System = "si") -> Table:
    """Return the layers with R and permeance, outside to inside."""
    table = listed(
        "Layers, outside to inside",
        ("Layer", "left"),
        ("Made of", "left"),
        (f"Thickness\n{unit_of('length', system=system)}", "right"),
        (f"R\n{unit_of('thermal resistance', system=system)}", "right"),
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
        room_words(numbers),
        *code_lines(numbers, system=system),
        *(converted(note, system) for note in numbers.notes),
    ]


def room_words(numbers: HandNumbers) -> str:
    """Return how humid the room is, which decides more than the wall."""
    return (
        f"the room: {100 * numbers.winter_rh:.0f} % RH in the mean of the three coldest months, "
        f"{100 * numbers.shoulder_rh:.0f} % in the shoulder seasons"
    )


def code_lines(numbers: HandNumbers, *, system: System = "si") -> list[str]:
    """Return what the residential code asks of such a wall; never that it is met."""
    code = numbers.code
    if code is None:
        return []

    def say(value: float) -> str:
        return show(value, "thermal resistance", system=system)

    what = "none" if code.retarder == "open" else f"class {code.retarder}"
    lines = [
        f"code, IRC {code.edition}, wood frame, zone {code.zone} by this weather: vapour retarder "
        f"inside {what}, permitted: {code.permitted}"
    ]
    if code.least is None:
        return [*lines, f"code: no least R outside: {code.place}"]
    verb = "below the code's R" if code.below else "a code value is no proof that a wall stays dry"
    return [
        *lines,
        f"code: {say(code.least)} outside of the framing ({code.place}, "
        f"{MARKS.get(code.mark, code.mark)}); this wall has {say(code.outboard)} as rated: {verb}",
    ]


def plain(title: str, headings: Sequence[str], rows: Iterable[Sequence[str]]) -> Table:
    """Return a table of text; the first column stands left, the others right."""
    table = listed(title, *((h, "left" if i == 0 else "right") for i, h in enumerate(headings)))
    for row in rows:
        table.add_row(*row)
    return table
