"""Evidence wall by wall: the face that decides over the years, depth and time, water by month."""

from __future__ import annotations

from hygro.page import live
from hygro.page.subject import Section, Subject
from hygro.page.wording import SHORT
from hygro.show import words
from hygro.show.course import course, days_of_a_point
from hygro.show.depth import depth_map, step_words
from hygro.show.monthly import WAYS, monthly, water_factor
from hygro.show.panels import face_words
from hygro.show.svg import svg
from hygro.study.compare import Compared
from hygro.types import Data
from hygro.units import System, unit_of

POINTS = 730
"""Most points of a line of a drawing."""


def evidence(subject: Subject) -> Section:
    """Return the section; figures that the script brings to life stand in it as drawings first."""
    data = {"walls": [_wall(subject, item) for item in subject.walls]}
    return Section("evidence", "Evidence", "evidence.html", data, ("time series", "balance"))


def _wall(subject: Subject, item: Compared) -> Data:
    number, shown = subject.number(item), subject.shown(item)
    runs = [(SHORT[outcome.run.scenario], outcome.trace) for outcome in item.outcomes]
    closing, decides = subject.closing(item), SHORT[item.deciding.run.scenario]
    where = f"'{item.name}', {words.SCENARIOS[item.deciding.run.scenario]}"
    faces = face_words(runs)
    balance = shown.months
    return {
        "number": number,
        "name": item.name,
        "scenario": words.SCENARIOS[item.deciding.run.scenario],
        "face": faces,
        "mean": _mean_words(days_of_a_point(runs[0][1], live.POINTS)),
        "series": svg(course(runs, points=POINTS), f"t{number}",
                      f"Daily series of {item.name} at {faces}", least=480),
        "closing": None if closing is None else svg(
            course([(decides, closing.trace)], points=POINTS), f"c{number}",
            f"The first year of {where}, from the state at the start", least=480),
        "map": svg(depth_map(shown.field, system=subject.system), f"m{number}",
                   f"Humidity, temperature and water over depth and time in {where}", least=480),
        "step": step_words(shown.field),
        "balance": svg(monthly(balance, system=subject.system), f"b{number}",
                       f"Water by month in {where}", least=480),
        "inward": balance.layers[0],
        "yearly": _sums(balance.flows, len(balance.month), subject.system),
        "unit": unit_of("mass per area", system=subject.system),
        "residual": f"{water_factor(subject.system) * balance.residual:.0e}",
    }  # fmt: skip


def _mean_words(days: int) -> str:
    return "daily means" if days == 1 else f"means of {days} days"


def _sums(flows: Data, months: int, system: System) -> list[tuple[str, str]]:
    """Mean of a year of each way, in the unit shown; what is rounded to nothing has no minus."""
    yearly = 12.0 * water_factor(system) / months
    return [
        (words_of, f"{yearly * float(flows[key].sum()):+z.3f}")
        for key, (words_of, _, _) in WAYS.items()
    ]
