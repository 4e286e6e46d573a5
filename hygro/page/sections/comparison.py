"""The walls side by side: every scenario with its class, reserve and highest values."""

from __future__ import annotations

from hygro.assess.verdict import deciding_words, reserve_words
from hygro.page.sections.verdicts import bar
from hygro.page.subject import Section, Subject
from hygro.page.wording import SHORT, SIGNS, for_clients
from hygro.show import findings, side_by_side, tables, why
from hygro.show.borne import reserves_of
from hygro.show.converted import converted
from hygro.show.svg import svg
from hygro.study.compare import Compared, verdict_notes
from hygro.study.reserve import bears, per_cent
from hygro.study.runs import Outcome
from hygro.types import Data
from hygro.units import show, unit_of


def comparison(subject: Subject) -> Section:
    """Return the table, the reasons, and where the limits come from."""
    system = subject.system
    leaks = why.leak_notes(subject.walls, system=system)
    notes = [f"{names}: {note}" for names, told in leaks.items() for note in told]
    sources: dict[str, None] = {}
    for item in subject.walls:
        sources |= dict.fromkeys(findings.sources(item.deciding.verdict))
    data: Data = {
        "walls": [
            {
                "number": subject.number(item),
                "name": item.name,
                "U": show(item.tight.hand.U_effective, "thermal transmittance", system=system,
                          unit=False),
                "outboard": f"{100 * item.tight.hand.outboard_share:.0f}",
                "least": f"{100 * item.tight.hand.least_share:.0f}",
                "runs": [_run(item, outcome) for outcome in item.outcomes],
            }
            for item in subject.walls
        ],
        "U_unit": unit_of("thermal transmittance", system=system),
        "bears": _bears(subject),
        "legend": [converted(line, system) for line in _legend(subject)],
        "drying": [x for item in subject.walls for x in why.drying_lines(item, named=_leaks)],
        "notes": [*notes, *(converted(note, system) for note in verdict_notes(subject.walls))],
        "sources": [for_clients(converted(line, system)) for line in sources],
    }  # fmt: skip
    answers = ("criteria", "criteria sources", "scenarios")
    return Section("comparison", "Side by side", "comparison.html", data, answers)


def _bears(subject: Subject) -> Data | None:
    """How much more each wall bears; None where that was not searched."""
    found = [item for item in subject.walls if item.reserve is not None]
    if not found:
        return None

    def resistance(value: float) -> str:
        return show(value, "thermal resistance", system=subject.system)

    rows = [
        (
            item.name,
            bears(item.reserve.winter_rh, per_cent),
            bears(item.reserve.rain, per_cent),
            bears(item.reserve.outboard, resistance, least=True),
        )
        for item in found
        if item.reserve is not None
    ]
    drawn = reserves_of(subject.walls, title="Reserve", system=subject.system)
    drawing = "" if drawn is None else svg(drawn, "gb", "How far each number may go", least=640)
    return {"rows": rows, "lines": side_by_side.reserve_lines(found), "drawing": drawing}


def _legend(subject: Subject) -> list[str]:
    lines = side_by_side.legend(subject.walls, system=subject.system)
    return [line.replace(" (see `run`)", "") for line in lines]


def _leaks(item: Compared, outcome: Outcome) -> str:
    return SHORT[outcome.run.scenario] if item.leaky else "no leaks defined"


def _run(item: Compared, outcome: Outcome) -> Data:
    numbers = outcome.numbers
    return {
        "leaks": _leaks(item, outcome),
        "outcome": outcome.verdict.outcome,
        "sign": SIGNS[outcome.verdict.outcome],
        "reserve": reserve_words(outcome.verdict),
        "bar": bar(outcome.verdict.reserve),
        "decided": deciding_words(outcome.verdict),
        "content": tables.moisture(numbers.get("mc_30d_max")),
        "skin": tables.moisture(numbers.get("mc_30d_skin_max")),
        "mould": tables.number(numbers.get("mould_index_max")),
        "humidity": tables.percent(numbers.get("rh_30d_max")),
        "decides": outcome is item.deciding and item.leaky is not None,
    }
