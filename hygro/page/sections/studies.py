"""A section for each study: what was asked and found, with its figure, and what it rests on."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from matplotlib.figure import Figure

from hygro.decide.finding import About
from hygro.page.sections.study_tables import Told, told
from hygro.page.studies import ShownStudy
from hygro.page.subject import Section, Subject
from hygro.page.wording import for_clients
from hygro.show.converted import converted
from hygro.show.svg import svg
from hygro.types import Data
from hygro.units import count

LEAKS = {
    "verdict": "tight and with each kind of leak, as a verdict asks; the worst decides",
    "all": "all leaks at once",
    "none": "none",
}
"""Words for the runs at a point."""


def studies(subject: Subject) -> list[Section]:
    """Return the sections of the studies of a page, in the order given."""
    return [_section(subject, k, shown) for k, shown in enumerate(subject.studies, start=1)]


def _section(subject: Subject, number: int, shown: ShownStudy) -> Section:
    finding = shown.finding
    name = shown.name.removeprefix(f"{finding.kind}-")
    said = told(finding, subject.system)
    data: Data = {
        "name": shown.name,
        "question": said.question,
        "answers": [_clean(line, subject) for line in said.answers],
        "stale": _stale(shown, said),
        "drawing": _drawing(said.figure, number, said.question),
        "tables": [table._asdict() for table in said.tables],
        "notes": [_clean(line, subject) for line in said.notes],
        "facts": [(head, text) for head, text in _facts(shown) if text],
    }
    return Section(f"study-{number}", f"{said.title}: {name}", "study.html", data)


def _clean(line: str, subject: Subject) -> str:
    text = line.strip()
    return for_clients(converted(text[:1].upper() + text[1:], subject.system))


def _drawing(figure: Figure | None, number: int, text: str) -> str:
    return "" if figure is None else svg(figure, f"g{number}", text, least=640)


def _stale(shown: ShownStudy, said: Told) -> list[str]:
    """What of a study is not of today, not done, or could not be done."""
    now = shown.status
    lines = list(shown.stale)
    if now.failed:
        lines.append(f"{now.failed} of {now.distinct} runs could not be done.")
    if now.left:
        lines.append(f"{now.left} of {now.distinct} runs of its plan of today are not made.")
    if now.stale:
        lines.append(
            f"{now.stale} results of an earlier case, engine or device lie in the store, not used."
        )
    return lines + [f"Not computed: {error}" for error in said.errors]


def _facts(shown: ShownStudy) -> list[tuple[str, str]]:
    """What a finding rests on, as heads and texts."""
    about, now = shown.finding.about, shown.status
    points, runs = count(about.points, "point"), count(about.runs, "run")
    return [
        ("Case", ", ".join(x for x in (about.case, about.case_file) if x)),
        ("Wall", about.wall),
        ("Room", about.room),
        ("Leaks of the runs", LEAKS.get(about.leaks, about.leaks)),
        ("Plan", f"{points}, {runs}, {about.distinct} of them differ"),
        ("Runs in the store now", f"{now.done} of {now.distinct} done, {now.failed} failed"),
        ("Wall-years computed", f"{now.years:.0f}, in {now.seconds:.0f} s of core time"),
        ("Marched on", about.device),
        ("Found on", _day(shown.made)),
        ("Versions", ", ".join(f"{name} {number}" for name, number in about.versions.items())),
        *_hashes(about),
    ]


def _day(seconds: float) -> str:
    return datetime.fromtimestamp(seconds, UTC).strftime("%Y-%m-%d %H:%M UTC")


def _hashes(about: About) -> list[tuple[str, str]]:
    named: list[tuple[str, Any]] = [
        ("SHA-256 of the plan", about.plan_sha256),
        ("SHA-256 of the engine", about.engine_sha256),
        ("SHA-256 of the case", about.case_sha256),
        ("SHA-256 of the weather", ", ".join(about.climates)),
    ]
    return named
