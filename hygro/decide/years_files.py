"""What ranked years leave: figure, CSV, JSON, and a few lines. Owns names and columns."""

from __future__ import annotations

from pathlib import Path

from rich.console import RenderableType
from rich.table import Table

from hygro.assess.verdict import margin_words
from hygro.constants import ZERO_CELSIUS
from hygro.decide.engine import engine_name
from hygro.decide.files import title_of, write_three
from hygro.decide.map import plain_row
from hygro.decide.years import NINETY, RankedYears, Year, YearsResult
from hygro.types import Data
from hygro.units import System, show


def write_years(found: YearsResult, folder: Path, name: str) -> tuple[Path, ...]:
    """Write ranked years and return the paths."""
    from hygro.decide.years_figure import figure

    drawn = figure(found, title=title_of(found.plan))
    rows = [_row(year) for year in found.years]
    return write_three(folder, name, drawn, rows, plain_years(found))


def _row(year: Year) -> Data:
    facts = {
        "rank": year.rank,
        "severity": year.severity,
        "mean_temperature": year.temperature,
        "precipitation": year.precipitation,
    }
    return {**facts, **plain_row(year.result)}


def plain_years(found: YearsResult) -> Data:
    """Plain values of ranked years for JSON."""
    return {
        "case": found.plan.base.name,
        "wall": found.plan.base.wall.name,
        "median": found.at(0.5).year,
        "one_in_ten": found.at(NINETY).year,
        "worst": found.at(1.0).year,
        "years": [_row(year) for year in found.years],
        "typical": None if found.typical is None else plain_row(found.typical),
        "notes": found.notes(),
        "engine": engine_name(),
        "plan_sha256": found.plan.sha256,
    }


def years_pieces(found: YearsResult, system: System = "si") -> list[RenderableType]:
    """Say ranked years as a table and a few lines."""
    rows = Table(box=None, pad_edge=False)
    for name in ("rank", "year", "no worse", "mean", "precip.", "peak MC", "index"):
        rows.add_column(name, justify="right")
    for name in ("verdict", "reserve", "decided by"):
        rows.add_column(name)
    for year in found.years:
        numbers = year.result.numbers
        rows.add_row(
            str(year.rank), str(year.year), f"{100 * year.severity:.0f} %",
            show(year.temperature + ZERO_CELSIUS, "temperature", system=system),
            show(year.precipitation, "water sum", system=system),
            f"{100 * numbers.get('mc_30d_max', float('nan')):.1f} %",
            f"{numbers.get('mould_index_max', float('nan')):.2f}",
            year.result.outcome, margin_words(year.result.margin), year.result.decides,
        )  # fmt: skip
    return [found.plan.base.wall.name, rows, *distances(found), *found.notes()]


def distances(found: RankedYears) -> list[str]:
    """The years to design with, and how far the typical year is from them."""
    chosen = [("median", 0.5), ("one in ten", NINETY), ("worst", 1.0)]
    told = [f"{name}: year {found.at(share).year}" for name, share in chosen]
    lines = ["; ".join(told)]
    if found.typical is not None and not found.typical.error:
        for key, word, factor in (("mc_30d_max", "peak moisture content", 100.0),
                                  ("mould_index_max", "mould index", 1.0)):  # fmt: skip
            own = factor * found.typical.numbers.get(key, float("nan"))
            rest = [factor * found.at(s).result.numbers.get(key, float("nan")) for _, s in chosen]
            lines.append(
                f"{word}: typical year {own:.3g}; median {rest[0]:.3g}, one in ten {rest[1]:.3g}, "
                f"worst {rest[2]:.3g}"
            )
    return lines
