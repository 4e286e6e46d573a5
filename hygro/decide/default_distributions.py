"""The distributions that a sample takes where a study names none, for a wall as written.

Owns the step from the shipped table to what varies in one wall.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from hygro.data_files import table
from hygro.decide.base import Base
from hygro.decide.slots import slot
from hygro.declare import read
from hygro.errors import InputError
from hygro.study.varied import Samples, Values, Varied
from hygro.types import Data, Plain
from hygro.wall.elements import Gap, Layer

NAMES = ("rain_leak", "air_leak", "gap_air_change", "winter_rh", "absorptance",
         "inside_coefficient")  # fmt: skip


def default_distributions(base: Base) -> dict[str, Varied]:
    """Return what varies in a wall by default: materials, leaks, coefficients, room, year.

    Materials of a benchmark are left out, and what the wall does not have.
    """
    rows = table("hygro.decide", "distributions")
    found = dict(_factors(base, rows["factor"]))
    for name in NAMES:
        found |= dict(_around(base, name, rows[name]))
    years = base.climates.years(base.tables["climate"])
    if years > 1:
        source = rows["year"]["source"]
        found["year"] = Samples(tuple(range(1, years + 1)), source=source)
    return found


def _factors(base: Base, rows: list[Mapping[str, Plain]]) -> Iterator[tuple[str, Varied]]:
    for element in base.wall.layers:
        if isinstance(element, Gap):
            continue
        group = element.material.group if isinstance(element, Layer) else "sheet"
        for row in rows:
            name = f'factor."{element.name}".{row["property"]}'
            if group not in row["groups"]:
                continue
            how = read(Varied, {k: v for k, v in row.items() if k not in ("groups", "property")})
            if _fits(name, how, base):
                yield name, how


def _fits(name: str, how: Plain, base: Base) -> bool:
    """Whether a material has the property, in a form that takes a factor so far."""
    try:
        place = slot(name, base)
        for end in how.truncate:
            place.read(end)
    except InputError:
        return False
    return True


def _around(base: Base, name: str, row: Mapping[str, Plain]) -> Iterator[tuple[str, Varied]]:
    """A distribution around what the wall has, within the bounds that stand beside it."""
    path = str(row.get("path", name))
    try:
        now = slot(path, base).now
    except InputError:
        return
    if not now:
        return
    low, high = float(row.get("least", 0.0)), float(row["most"])
    if "times" in row:
        how = _scaled(row["times"], lambda x: x * now)
    else:
        how = _scaled(row["plus"], lambda x: x + now)
    if "truncate" in how:
        how["truncate"] = [max(how["truncate"][0], low), min(how["truncate"][1], high)]
    for key in ("low", "mode", "high"):
        if key in how:
            how[key] = min(max(how[key], low), high)
    yield path, read(Varied, {**how, "source": row["source"]})


def _scaled(how: Mapping[str, Plain], change: Plain) -> Data:
    keys = ("low", "mode", "high", "median", "mean")
    found = {k: change(v) if k in keys else v for k, v in how.items()}
    if "truncate" in how:
        found["truncate"] = [change(v) for v in how["truncate"]]
    return found


def is_fixed(how: Varied) -> bool:
    """Whether something does not vary."""
    return isinstance(how, Values) and len(how.values) == 1
