"""Where a result comes from: versions, hashes, settings, closures, assumptions, as attributes."""

from __future__ import annotations

import hashlib
import json
import platform
from collections.abc import Mapping
from functools import cache, lru_cache
from importlib.metadata import PackageNotFoundError, version
from types import MappingProxyType
from typing import Any, Literal, Protocol, get_args

import numpy as np
import xarray as xr

from hygro.constants import STANDARD_PRESSURE
from hygro.declare import plain, read_or_refuse
from hygro.errors import InputError, RecordError, SolveError, brief, must_be, near_matches
from hygro.solve.hours import hourly_loads
from hygro.solve.settings import Settings
from hygro.types import Data
from hygro.wall.loads import Loads
from hygro.wall.wall import Wall

SCHEMA = "hygro-record-1"
Question = Literal["service", "closing in"]
"""What a record may answer alone: see `hygro.assess.questions`."""
CLOSURE_LIMIT = 1e-6
"""A run whose water or energy does not close to this share of the throughput is refused. [1]"""
_PACKAGES = ("hygro", "numpy", "scipy", "numba", "xarray", "netCDF4", "pvlib")


def attributes(
    wall: Wall,
    loads: Loads,
    settings: Settings,
    closure: dict[str, float],
    counters: dict[str, int],
    provenance: Data,
) -> Data:
    """Attributes of a record; raises `SolveError` if a balance does not close."""
    stored = wall_text(wall)
    return {
        "schema": SCHEMA,
        "title": wall.name,
        "wall": stored,
        "settings": json.dumps(plain(settings), sort_keys=True),
        "loads_sha256": loads_hash(loads),
        "wall_sha256": hashlib.sha256(stored.encode()).hexdigest(),
        **run_attributes(wall, loads, closure, counters),
        "versions": json.dumps(dict(versions()), sort_keys=True),
        "Conventions": "CF-1.8",
        **{key: _flat(value) for key, value in provenance.items()},
    }


def run_attributes(
    wall: Wall, loads: Loads, closure: dict[str, float], counters: dict[str, int]
) -> Data:
    """What a record says of how its run went; raises `SolveError` if a balance does not close."""
    worst = max(closure.values())
    if not worst <= CLOSURE_LIMIT:
        raise SolveError(
            f"wall '{wall.name}': balance open by {worst:.1e} of the throughput: must be at most "
            f"{CLOSURE_LIMIT:g}; please report the case, results are not written"
        )
    return {
        "closure_energy": closure["energy"],
        "closure_moisture": closure["moisture"],
        "steps": counters["steps"],
        "steps_rejected": counters["rejected"],
        "stage_retries": counters["retries"],
        "evaluations": counters["evaluations"],
        "air_pressure": loads.pressure,
        "assumptions": json.dumps(list(loads.assumptions), ensure_ascii=False),
    }


def checked(provenance: Mapping[str, object] | None) -> dict[str, object]:
    """Return what a user adds to the attributes of a record.

    Raises
    ------
    InputError
        No dict, a name that is no text, a value that no file can hold, or a `question` that no
        record answers.
    """
    words = "a dict of attributes for the record, left out for none"
    must_be(provenance, (Mapping, type(None)), "provenance", words)
    found = dict(provenance or {})
    for key, value in found.items():
        _check_attribute(key, value)
    questions = get_args(Question)
    if "question" in found and found["question"] not in questions:
        asked = found["question"]
        raise InputError(
            f"provenance: question = {brief(asked)}: must be {' or '.join(map(repr, questions))}; "
            f"{near_matches(str(asked), questions)}"
        )
    return found


def _check_attribute(key: object, value: object) -> None:
    """Refuse what no file can hold: said before the run, not after it."""
    must_be(key, str, f"provenance: name {brief(key)}", "a text")
    try:
        _flat(value)
    except (TypeError, ValueError, RecursionError):
        raise InputError(
            f"provenance: {key} = {brief(value)}: must be a text or a number, or a list or dict of "
            "them"
        ) from None


@lru_cache(maxsize=64)
def wall_text(wall: Wall) -> str:
    """A wall as a record holds it, from which its hash is made."""
    return json.dumps(plain(wall), ensure_ascii=False, sort_keys=True)


class Attributed(Protocol):
    """What has the attributes of a record."""

    @property
    def attrs(self) -> Mapping[Any, Any]:
        """By their names."""


def stored_wall(record: Attributed) -> Wall:
    """The wall that a record holds; raises `RecordError` where it holds none that can be read."""
    wall: Wall = _stored(record, "wall", Wall)
    return wall


def stored_settings(record: Attributed) -> Settings:
    """The settings that a record was made with; raises `RecordError` as `stored_wall`."""
    settings: Settings = _stored(record, "settings", Settings)
    return settings


def _stored(record: Attributed, name: str, kind: type) -> Any:
    try:
        return _read(kind, record.attrs[name], f"stored {name}")
    except (KeyError, TypeError, ValueError, RecursionError) as error:
        raise RecordError(f"attribute '{name}' of the record cannot be read: {error}") from error


@lru_cache(maxsize=32)
def _read(kind: type, text: str, where: str) -> Any:
    """Values do not change: the ratings of a record read its wall once."""
    return read_or_refuse(kind, json.loads(text), where)


def climate_attributes(climate: xr.Dataset) -> Data:
    """Where the climate of a run comes from."""
    keys = ("place", "source", "source_sha256", "kind", "generated", "caution", "history")
    return {f"climate_{key}": climate.attrs[key] for key in keys if key in climate.attrs}


def loads_hash(loads: Loads) -> str:
    """SHA-256 over all load arrays, as the march reads them."""
    packed = hourly_loads(loads)
    digest = hashlib.sha256()
    for name in ("instant", "mean", "gap_rate", "wind", "source", "air"):
        digest.update(np.ascontiguousarray(getattr(packed, name)).data)
    if loads.pressure != STANDARD_PRESSURE:  # records from before it was stored keep their hash
        digest.update(np.float64(loads.pressure).tobytes())
    return digest.hexdigest()


@cache
def versions() -> Mapping[str, str]:
    """Versions of Python and of the packages that results depend on."""
    found = {"python": platform.python_version()}
    for name in _PACKAGES:
        try:
            found[name] = version(name)
        except PackageNotFoundError:
            found[name] = "not installed"
    return MappingProxyType(found)


def _flat(value: object) -> str | int | float:
    return value if isinstance(value, str | int | float) else json.dumps(value, ensure_ascii=False)
