"""What is told of each kind of finding: question, answers, figure, tables. Owns these words."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from typing import NamedTuple

from matplotlib.figure import Figure

from hygro.assess.criteria import word_of
from hygro.assess.verdict import margin_words
from hygro.decide import (
    least_files,
    limit_figure,
    map_figure,
    map_files,
    sample_figure,
    sample_files,
    years_figure,
    years_files,
)
from hygro.decide.axis import Axis
from hygro.decide.finding import Finding, StudyPoints
from hygro.decide.in_units import beside_in, found_in
from hygro.decide.least import LeastValues
from hygro.decide.limit import Limited
from hygro.decide.map import Mapped
from hygro.decide.point import PointResult
from hygro.decide.sample import Probability, Sampled
from hygro.decide.tables import shown
from hygro.decide.years import RankedYears
from hygro.show.words import SCENARIOS
from hygro.types import Plain
from hygro.units import System, pretty, show, unit_of

MOST = 400
"""Rows of a table."""


class Tabled(NamedTuple):
    """A table: its title, heads, rows of text, and which columns are numbers."""

    title: str
    heads: Sequence[str]
    rows: Sequence[Sequence[str]]
    numbers: Sequence[int]


class Told(NamedTuple):
    """What a section says of a finding."""

    title: str
    question: str
    answers: Sequence[str]
    figure: Figure | None
    tables: Sequence[Tabled]
    notes: Sequence[str]
    errors: Sequence[str]


def told(finding: Finding, system: System) -> Told:
    """Return what is said of a finding."""
    found, next_to = finding.found, finding.beside
    if isinstance(found, Mapped) and next_to is not None:
        next_to = beside_in(next_to, found, system)
    shown_in = replace(finding, found=found_in(found, system), beside=next_to)
    return _TOLD[finding.kind](shown_in, system)


def _title(finding: Finding) -> str:
    return f"{finding.about.case}: {finding.about.wall}"


def _map(finding: Finding, system: System) -> Told:
    found, next_to = finding.found, finding.beside
    assert isinstance(found, Mapped)
    assert next_to is not None
    question = (
        f"Where is '{finding.about.wall}' within its limits over {found.x.says} and {found.y.says}?"
    )
    return Told(
        "Map",
        question,
        [map_files.counted(found), *map_files.answers(found, next_to)],
        map_figure.figure(found, next_to, title=_title(finding), system=system),
        [_points("Points tried", (found.x, found.y), found.results, system)],
        ["As written: what the case has. Steady: a calculation of the three coldest months."],
        _errors(found.results),
    )


def _least(finding: Finding, _: System) -> Told:
    found = finding.found
    assert isinstance(found, LeastValues)
    heads, rest = least_files.columns(found)
    first = found.others[0].says if found.others else ""
    rows = [
        [
            least_files.row_head(found, head),
            *(least_files.cell(found, head, column) for column in rest),
        ]
        for head in heads
    ]
    columns = [least_files.column_head(found, column) for column in rest]
    what = least_files.heading(found)
    table = Tabled(_up(what), [first, *columns], rows, range(1, len(columns) + 1))
    question = f"What is the {what} at which '{finding.about.wall}' is within its limits?"
    blamed = [f"just below, {line}" for line in least_files.blamed(found)]
    errors = list(dict.fromkeys(row.error for row in found.rows if row.error))
    return Told("Least", question, blamed, None, [table], least_files.notes(found), errors)


def _limit(finding: Finding, system: System) -> Told:
    found = finding.found
    assert isinstance(found, Limited)
    said = f"How far may {found.along.says} go for '{finding.about.wall}' to be within its limits?"
    return Told(
        "Limit",
        said,
        [_up(limit_figure.windows(found)), *_turns(found)],
        limit_figure.figure(found, title=_title(finding)),
        [_points("Values tried", (found.along,), found.results, system)],
        ["Every value is judged tight and with each leak; the reserve is that of the worst run. "
         "Between two values tried next to each other a window can be missed."],
        _errors(found.results),
    )  # fmt: skip


def _turns(found: Limited) -> list[str]:
    """What fails just beyond each window, or at the highest value where there is none."""
    edges = [
        (f"just {side}, at {found.along.said(edge.outside)}", edge.reasons)
        for window in found.limit.windows
        for side, edge in (("below", window.low), ("above", window.high))
        if edge is not None
    ]
    last = found.limit.trials[-1]
    told = edges or ([] if last.passed else [(f"at {found.along.said(last.value)}", last.reasons)])
    return [_up(f"{where}, {_scenario(reason)}") for where, reasons in told for reason in reasons]


def _scenario(reason: str) -> str:
    """A reason that begins with the leaks of its run, in words."""
    key, _, rest = reason.partition(": ")
    return f"{SCENARIOS.get(key, key)}: {rest}"


def _sample(finding: Finding, _: System) -> Told:
    found = finding.found
    assert isinstance(found, Sampled)
    criteria = sorted(found.criteria.items(), key=lambda item: -item[1].value)
    tables = [
        Tabled("Probability of failing", ("Criterion", "fails in", "%", "95 % interval, %"),
               [("any", *_chance(found.failing)),
                *((word_of(k), *_chance(p)) for k, p in criteria)],
               (1, 2, 3)),
        Tabled("What peak moisture content depends on",
               ("Input", "rank correlation", "95 % interval", "first-order index", "shift (PAWN)"),
               _sensitivities(found), (1, 2, 3, 4)),
        Tabled("What was drawn", ("Input", "Unit", "Distribution", "Source"),
               [(a.says, _unit(a), a.what, a.source) for a in found.axes],
               ()),
    ]  # fmt: skip
    enough = [] if found.enough else ["the interval is wider than asked: draw more samples"]
    missing = len(found.results) - found.failing.of
    lost = [f"{missing} draws not computed or not judged"] if missing else []
    return Told(
        "Sample",
        f"How often is '{finding.about.wall}' beyond its limits, with what is not known drawn?",
        [_up(sample_figure.words(found)), *sample_files.quantile_lines(found),
         *sample_files.few_lines(found), *enough, *lost],
        sample_figure.figure(found, title=_title(finding)),
        tables,
        ["The probability is that of the model with these distributions, of no house. The interval "
         "is Wilson's, as if the draws were independent."],
        _errors(found.results),
    )  # fmt: skip


def _years(finding: Finding, system: System) -> Told:
    found = finding.found
    assert isinstance(found, RankedYears)
    T, rain = (unit_of(kind, system=system) for kind in ("temperature", "water sum"))
    heads = ("Rank", "Year", "no worse, %", f"Mean, {T}", f"Precipitation, {rain}", "Peak MC, %",
             "Mould index", "Verdict", "Reserve", "Decided by")  # fmt: skip
    rows = [
        (
            str(year.rank),
            str(year.year),
            f"{100 * year.severity:.0f}",
            show(year.temperature + 273.15, "temperature", system=system, unit=False),
            show(year.precipitation, "water sum", system=system, unit=False),
            *_numbers(year.result),
            year.result.outcome,
            margin_words(year.result.margin),
            year.result.decides,
        )
        for year in found.years
    ]
    return Told(
        "Years",
        f"Which years are bad for '{finding.about.wall}'?",
        [_up(line) for line in years_files.distances(found)],
        years_figure.figure(found, title=_title(finding)),
        [Tabled("Years, the worst for this wall first", heads, rows, range(7))],
        found.notes(),
        _errors(year.result for year in found.years),
    )


def _plain_points(finding: Finding, system: System) -> Told:
    found = finding.found
    assert isinstance(found, StudyPoints)
    what = " and ".join(axis.says for axis in found.axes)
    counts = ", ".join(f"{n} {word}" for word, n in found.counts.items())
    return Told(
        "Study",
        f"How does '{finding.about.wall}' do over {what}?",
        [f"Points: {counts}."],
        None,
        [_points("Points", found.axes, found.results, system)],
        [],
        _errors(found.results),
    )


_TOLD: dict[str, Callable[[Finding, System], Told]] = {
    "map": _map,
    "least": _least,
    "limit": _limit,
    "sample": _sample,
    "years": _years,
    "points": _plain_points,
}


def _points(
    title: str, axes: Sequence[Axis], results: Sequence[PointResult], system: System
) -> Tabled:
    """The answers at points; a long list is cut and says so."""
    count = len(axes)
    heads = [*(axis.label() for axis in axes), "Peak MC, %", "Mould index",
             f"Condensate, {unit_of('mass per area', system=system)}", "Verdict", "Reserve",
             "Decided by"]  # fmt: skip
    rows = [
        (
            *(shown(result.at.get(axis.name)) for axis in axes),
            *_numbers(result),
            _condensate(result, system),
            result.outcome,
            margin_words(None if math.isnan(result.margin) else result.margin),
            f"{result.decides} ({result.scenario})" if result.decides else "",
        )
        for result in results[:MOST]
    ]
    cut = f"; the first {MOST} of {len(results)}" if len(results) > MOST else ""
    return Tabled(title + cut, heads, rows, [*range(count + 3), count + 4])


def _numbers(result: PointResult) -> tuple[str, str]:
    """Peak moisture content in per cent, and the highest mould index."""
    content, index = (result.numbers.get(k) for k in ("mc_30d_max", "mould_index_max"))
    return (
        "–" if content is None else f"{100 * content:.1f}",
        "–" if index is None else f"{index:.2f}",
    )


def _condensate(result: PointResult, system: System) -> str:
    value = result.numbers.get("condensate")
    return "–" if value is None else show(value, "mass per area", system=system, unit=False)


def _chance(p: Probability) -> tuple[str, str, str]:
    share = "–" if math.isnan(p.value) else f"{100 * p.value:.1f}"
    return f"{p.failed} of {p.of}", share, f"{100 * p.low:.1f} to {100 * p.high:.1f}"


def _unit(axis: Axis) -> str:
    """The unit in which a distribution is written."""
    return pretty(axis.full_unit) or "–"


def _sensitivities(found: Sampled) -> list[tuple[str, ...]]:
    rows: list[tuple[str, ...]] = []
    for row in found.ranked.get("mc_30d_max", []):
        low, high = row.interval(len(found.results))
        rows.append(
            (
                found.says(row.name),
                f"{row.direction:+.2f}",
                f"{low:.2f} to {high:.2f}",
                "–" if row.first is None else f"{row.first:.2f}",
                "–" if row.shift is None else f"{row.shift:.2f}",
            )
        )
    return rows


def _errors(results: Iterable[PointResult]) -> list[Plain]:
    found = dict.fromkeys(result.error[:200] for result in results if result.error)
    return list(found)[:5]


def _up(text: str) -> str:
    return text[:1].upper() + text[1:]
