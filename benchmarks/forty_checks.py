"""What is expected of a wall, asked of what was found. Owns the kinds of expectation."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, NamedTuple

from hygro.study.compare import Compared
from hygro.study.rank import ranked

WORDS = {
    "mc_30d_max": ("highest 30-day moisture content of the sheathing", 100.0, " %"),
    "mould_index_max": ("highest mould index", 1.0, ""),
    "condensation_hours": ("condensation at the sheathing", 1.0, " h"),
    "dew_point_hours": ("sheathing at the indoor dew point", 1.0, " h"),
    "days_to_dry": ("days until wood stays dry", 1.0, " d"),
}
"""Words, factor and unit of the numbers that are asked for."""


class Check(NamedTuple):
    """One expectation: in words, whether it holds, and why it is known not to."""

    expected: str
    found: str
    holds: bool
    contradicted: str = ""

    @property
    def as_marked(self) -> bool:
        """Whether it holds, or is marked as contradicted and does not."""
        return self.holds is not bool(self.contradicted)


def checks(
    item: Compared, table: Mapping[str, Any], others: Mapping[str, Compared]
) -> tuple[Check, ...]:
    """Ask the verdict first, then each of `also`; `table["contradicted"]` marks by place."""
    asked = [*_verdict(item, table["judge"])]
    asked += [_also(item, also, others) for also in table.get("also", ())]
    assert asked, f"nothing is expected of '{item.name}'"
    marks: Mapping[int, str] = table.get("contradicted", {})
    return tuple(c._replace(contradicted=marks.get(i, "")) for i, c in enumerate(asked))


def _verdict(item: Compared, asked: Mapping[str, Any]) -> Iterator[Check]:
    if "expect" not in asked:
        return
    if asked.get("every"):
        leaking = {o.run.scenario: o.verdict.outcome for o in item.outcomes if o.run.leaks}
        assert leaking, f"'{item.name}' has no leak"
        said = ", ".join(f"{name}: {word}" for name, word in leaking.items())
        holds = set(leaking.values()) == {asked["expect"]}
        yield Check(f"{asked['expect']} with every leak", said, holds)
    else:
        yield Check(asked["expect"], item.outcome, item.outcome == asked["expect"])


def _also(item: Compared, asked: Mapping[str, Any], others: Mapping[str, Compared]) -> Check:
    if "criterion" in asked:
        key = asked["criterion"]
        failed = sorted({f.criterion.key for o in item.outcomes for f in o.verdict.failed})
        return Check(f"fails by '{key}'", ", ".join(failed) or "nothing", key in failed)
    if "note" in asked:
        notes = "; ".join(item.leak_notes)
        return Check(f"said: {asked['note']}", notes or "nothing", asked["note"] in notes)
    if "ranks_below" in asked:
        other = others[asked["ranks_below"]]
        order = [wall.name for wall in ranked([item, other])]
        return Check(f"ranks below '{other.name}'", " > ".join(order), order[0] == other.name)
    return _number(item, asked, others)


def _number(item: Compared, asked: Mapping[str, Any], others: Mapping[str, Compared]) -> Check:
    words, factor, unit = WORDS[asked["number"]]
    value = _value(item, asked)

    def shown(number: float) -> str:
        return f"{factor * number:.3g}{unit}"

    where = f" ({asked['scenario']})" if "scenario" in asked else ""
    if "above_scenario" in asked:
        other = _value(item, {**asked, "scenario": asked["above_scenario"]})
        expected = f"{words}{where} above that without ({asked['above_scenario']})"
        return Check(expected, f"{shown(value)} against {shown(other)}", value > other)
    for sign, name in ((1.0, "above"), (-1.0, "below")):
        if name in asked:
            holds = sign * (value - asked[name]) > 0.0
            return Check(f"{words}{where} {name} {shown(asked[name])}", shown(value), holds)
        if f"{name}_wall" in asked:
            other = _value(others[asked[f"{name}_wall"]], asked)
            expected = f"{words}{where} {name} that of '{asked[f'{name}_wall']}'"
            found = f"{shown(value)} against {shown(other)}"
            return Check(expected, found, sign * (value - other) > 0.0)
    other = _value(others[asked["near_wall"]], asked)
    expected = f"{words}{where} within {shown(asked['within'])} of '{asked['near_wall']}'"
    return Check(
        expected, f"{shown(value)} against {shown(other)}", abs(value - other) <= asked["within"]
    )


def _value(item: Compared, asked: Mapping[str, Any]) -> float:
    if asked["number"] == "days_to_dry":
        return item.days_to_dry
    chosen = [o for o in item.outcomes if asked.get("scenario", o.run.scenario) == o.run.scenario]
    found = [value for o in chosen if isinstance(value := o.numbers[asked["number"]], int | float)]
    assert found, f"'{item.name}': no {asked['number']}"
    return float(max(found))
