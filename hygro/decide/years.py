"""Which years are bad for this wall: every year of a long weather ranked by the wall itself.

Owns the ranking and what is said of how a year is to be chosen.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from hygro.decide.plan import Plan, make_plan
from hygro.decide.point import PointResult, point_results
from hygro.decide.runner import Pool, Progress, run_plan
from hygro.decide.study import Study
from hygro.errors import InputError
from hygro.study.varied import Values
from hygro.units import count

NINETY = 0.9
"""Severity of the year once in ten. [1]"""
CONSECUTIVE = 10
"""Years that ASHRAE 160 and EN 15026 want at least."""
ASKED = (
    "ASHRAE 160 asks for at least ten consecutive years, or a moisture design reference year; "
    "earlier editions for the 10th-percentile warm and cold years (not checked against the "
    "document)",
    "EN 15026 asks for ten or more measured years, or a year as severe as one in ten, or a mean "
    "year shifted by 2 K (not checked against the document)",
    "years are ranked here by the response of this wall, each run twice from its start month with "
    "the second round judged for service (our choice): an index of the weather alone need not rank "
    "them so",
)


class Year(NamedTuple):
    """One year of the weather and what it does to the wall.

    Attributes
    ----------
    year : int
        Counted from 1 in the weather.
    rank : int
        1 is the worst.
    severity : float
        Share of the years that are no worse. [1]
    result : PointResult
        The answer, worst of the leaks.
    temperature, precipitation : float
        Mean outdoor temperature [°C], and what fell, rain and snow [mm].
    """

    year: int
    rank: int
    severity: float
    result: PointResult
    temperature: float
    precipitation: float


@dataclass(frozen=True)
class RankedYears:
    """All years, worst first, and those to design with.

    Attributes
    ----------
    years : tuple of Year
        Worst first.
    typical : PointResult or None
        Of the weather the case itself has, where that is a typical year.
    """

    years: tuple[Year, ...]
    typical: PointResult | None

    def at(self, severity: float) -> Year:
        """The year of a severity: 0.5 the median, 0.9 the year once in ten, 1 the worst."""
        return nearest_severity(self.years, severity)

    def notes(self) -> list[str]:
        """How a year is to be chosen, and what is lacking here."""
        few = len(self.years) < CONSECUTIVE
        told = count(len(self.years), "year")
        short = [f"{told}: fewer than the ten that both standards want"] if few else []
        error = "" if self.typical is None else self.typical.error
        failed = [f"the typical year could not be computed: {error}"] if error else []
        return [*short, *failed, *ASKED]


@dataclass(frozen=True)
class YearsResult(RankedYears):
    """Ranked years with their plan, one point a year."""

    plan: Plan
    errors: tuple[str, ...]
    """Why a year could not be computed, in the order of the weather; empty where it was."""


def make_years(
    study: Study,
    *,
    typical: str | None = None,
    processes: int | None = None,
    pool: Pool | None = None,
    progress: Callable[[Progress], None] | None = None,
) -> YearsResult:
    """Run a wall through every year of its weather and rank them.

    Parameters
    ----------
    study : Study
        Varies `year` and nothing else.
    typical : str, optional
        Weather file of a typical year, beside the case, that is run as the years are.
    processes, pool, progress
        See `run_plan`.

    Raises
    ------
    InputError
        The study varies something else, or no year could be computed.
    """
    if [d.name for d in study.plan.dimensions] != ["year"]:
        raise InputError(f"years of study '{study.name}': must vary 'year' and nothing else")
    beside = None if typical is None else _typical(study, typical)  # refused before anything runs
    run_plan(study.plan, study.store, processes=processes, pool=pool, progress=progress)
    results = point_results(study.plan, study.store.rows(study.plan.distinct))
    done = [result for result in results if not result.error]
    if not done:
        raise InputError(f"no year could be computed: {results[0].error}")
    found = None
    if beside is not None:
        study.store.put_beside(study.name, beside, study.plan)
        run_plan(beside, study.store, processes=processes, pool=pool)
        found = point_results(beside, study.store.rows(beside.distinct))[0]
    errors = tuple(result.error for result in results)
    return YearsResult(ranked(study.plan, done), found, study.plan, errors)


def _typical(study: Study, file: str) -> Plan:
    """The plan of a typical year, gone through as often as the others."""
    vary = {"climate": Values((file,)), "year": Values((1,))}
    plan = make_plan(study.base, vary, leaks=study.entry.leaks, device=study.plan.device)
    plan.distinct  # noqa: B018 - reads the file, which may be refused
    return plan


def ranked(plan: Plan, results: Sequence[PointResult]) -> tuple[Year, ...]:
    """Order years, the worst first: by reserve, then by mould index and moisture content."""

    def harm(result: PointResult) -> tuple[float, float, float]:
        numbers = result.numbers
        index, content = (numbers.get(k, 0.0) for k in ("mould_index_max", "mc_30d_max"))
        margin = result.margin if np.isfinite(result.margin) else -np.inf
        return margin, -index, -content

    order = sorted(results, key=harm)
    count = len(order)
    return tuple(
        _year(plan, result, rank, (count - rank + 1) / count)
        for rank, result in enumerate(order, start=1)
    )


def _year(plan: Plan, result: PointResult, rank: int, severity: float) -> Year:
    data = plan.climate(plan.tables(result.point)).data
    hours = slice(0, 8760)
    T = float(data["temperature"].values[hours].mean()) - 273.15
    given = "precipitation" in data
    rain = data["precipitation"].values[hours] if given else np.array([0.0])
    return Year(int(result.at["year"]), rank, severity, result, T, float(np.nansum(rain)))


def nearest_severity(years: Sequence[Year], severity: float) -> Year:
    """The least severe year that is at least as severe as asked; of years sorted worst first."""
    found = [year for year in years if year.severity >= severity - 1e-9]
    return found[-1] if found else years[0]
