"""How the runs were computed and how far they can be trusted as numbers."""

from __future__ import annotations

from collections.abc import Sequence

import xarray as xr

from hygro.declare import plain
from hygro.page.subject import Section, Subject
from hygro.record.provenance import stored_settings
from hygro.show import refined
from hygro.show.monthly import water_factor
from hygro.study.certainty import Certainty
from hygro.study.runs import Outcome
from hygro.units import System, unit_of


def numerics(subject: Subject) -> Section:
    """Return settings, closures, counts of steps, and the error by finer runs where it is given."""
    settings = dict.fromkeys(str(attrs["settings"]) for _, attrs in subject.records())
    checks = [
        (name, _check(each, subject), refined.certainty_lines(each))
        for name, each in subject.checks.items()
    ]
    data = {
        "settings": [_settings(text) for text in settings],
        "runs": [
            (item.name, outcome.run.scenario, _quality(outcome, subject.system))
            for item in subject.walls
            for outcome in item.outcomes
        ],
        "checks": checks,
        "unit": unit_of("mass per area", system=subject.system),
    }
    answers = ["numerics", "closure"] + (["error control"] if checks else [])
    lacks = {} if checks else {"error control": "the page was made without --check"}
    return Section("numerics", "How it was computed, how sure", "numerics.html", data,
                   tuple(answers), lacks)  # fmt: skip


def _settings(text: str) -> list[tuple[str, str]]:
    found = stored_settings(xr.Dataset(attrs={"settings": text}))
    return [(key.replace("_", " "), str(value)) for key, value in plain(found).items()]


def _quality(outcome: Outcome, system: System) -> dict[str, str]:
    told = outcome.quality
    closures = {k: f"{float(str(told[f'closure_{k}'])):.0e}" for k in ("moisture", "energy")}
    counts = {k: str(told[k]) for k in ("steps", "steps_rejected", "stage_retries")}
    rounds = f"{told['periodic_rounds']}" if "periodic_rounds" in told else "–"
    drift = "–"
    if "periodic_drift" in told:
        drift = f"{water_factor(system) * float(str(told['periodic_drift'])):.1e}"
    return {**closures, **counts, "rounds": rounds, "drift": drift}


def _check(checks: Sequence[Certainty], subject: Subject) -> list[tuple[str, ...]]:
    return [
        refined.change_cells(item, check.scenario, system=subject.system)
        for check in checks
        for item in check.changes
    ]
