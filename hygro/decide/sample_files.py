"""What a sample leaves: figure, CSV, JSON, and a few lines. Owns names and columns."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from hygro.assess.criteria import word_of
from hygro.decide.dimension import full_unit
from hygro.decide.engine import engine_name
from hygro.decide.files import title_of, write_three
from hygro.decide.map import plain_row
from hygro.decide.sample import FIRST, TAILS, Sampled, SampleResult
from hygro.decide.sample_figure import words
from hygro.types import Data


def write_sample(found: SampleResult, folder: Path, name: str) -> tuple[Path, ...]:
    """Write a sample and return the paths; raises `InputError` where a file cannot be written."""
    from hygro.decide.sample_figure import figure

    drawn = figure(found, title=title_of(found.plan))
    rows = [plain_row(result) for result in found.results]
    return write_three(folder, name, drawn, rows, plain_sample(found))


def plain_sample(found: SampleResult) -> Data:
    """Plain values of a sample for JSON."""
    return {
        "case": found.plan.base.name,
        "wall": found.plan.base.wall.name,
        "draws": len(found.results),
        "failing": found.failing._asdict(),
        "criteria": {key: row._asdict() for key, row in found.criteria.items()},
        "quantiles": {key: _quantiles(found.number(key)) for key in found.stages[-1].means},
        "sensitivities": {k: [row._asdict() for row in rows] for k, rows in found.ranked.items()},
        "stages": [
            {"draws": s.draws, "failing": s.failing._asdict(), "mean_and_95": s.means}
            for s in found.stages
        ],
        "enough": found.enough,
        "distributions": {
            d.name: {
                "unit": full_unit(d.unit, d.quantity),
                "source": d.source,
                "what": repr(d.distribution),
            }
            for d in found.plan.dimensions
        },
        "engine": engine_name(),
        "plan_sha256": found.plan.sha256,
        "caution": "the probability is that of the model with these distributions, of no house",
    }


def _quantiles(values: np.ndarray) -> dict[str, float]:
    shares = (0.05, 0.25, 0.5, 0.75, 0.95)
    return {f"{share:g}": float(np.quantile(values, share)) for share in shares}


def quantile_lines(found: Sampled) -> list[str]:
    """Say how moisture content and mould index are distributed."""
    lines = []
    for key, name, factor in (("mc_30d_max", "peak moisture content, %", 100.0),
                              ("mould_index_max", "highest mould index", 1.0)):  # fmt: skip
        values = factor * found.number(key)
        if 0 < len(values) < TAILS:
            lines.append(f"{name}: median {np.median(values):.3g}")
        elif len(values):
            q = [float(np.quantile(values, share)) for share in (0.05, 0.5, 0.95)]
            lines.append(f"{name}: 5 % {q[0]:.3g}, median {q[1]:.3g}, 95 % {q[2]:.3g}")
    return lines


def few_lines(found: Sampled) -> list[str]:
    """Say what cannot be told of a sample, because it has too few draws."""
    draws, lines = len(found.number("mc_30d_max")), []
    if 0 < draws < TAILS:
        lines.append(
            f"{draws} draws are too few for the 5 and 95 % of a distribution: at least {TAILS}"
        )
    if 0 < draws < FIRST:
        lines.append(f"what the answer depends on is told from {FIRST} draws on; here are {draws}")
    return lines


def sample_lines(found: SampleResult) -> list[str]:
    """Say a sample in a few lines."""
    lines = [f"{found.plan.base.wall.name}: {words(found)}"]
    worst = sorted(found.criteria.items(), key=lambda item: -item[1].value)
    lines += [
        f"  {word_of(key)}: {100 * p.value:.1f} % ({100 * p.low:.1f} to {100 * p.high:.1f} %)"
        for key, p in worst
        if p.failed
    ]
    lines += [*quantile_lines(found), *few_lines(found)]
    for row in found.ranked.get("mc_30d_max", [])[:5]:
        low, high = row.interval(len(found.results))
        word = "raises" if row.direction >= 0.0 else "lowers"
        told = f"{word} moisture content" if low > 0.0 else "which way it moves is not told"
        lines.append(
            f"  {found.says(row.name)}: {told}, rank correlation "
            f"{abs(row.direction):.2f} ({low:.2f} to {high:.2f})"
        )
    if not found.enough:
        lines.append("the interval is wider than asked: draw more samples")
    missing = len(found.results) - found.failing.of
    if missing:
        errors = dict.fromkeys(r.error for r in found.results if r.error)
        lines.append(f"{missing} draws not computed or not judged: {'; '.join(list(errors)[:2])}")
    return lines
