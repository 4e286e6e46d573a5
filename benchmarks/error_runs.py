"""Runs of a wall at an accuracy and as reference, and the errors between the two.

The reference has every cell of the normal grid in `PARTS` equal parts, a tolerance of `TOLERANCE`
and the sources at the depth in millimetres that they have on the normal grid. So the error of a run
is that of space, time and place together.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

import hygro
from benchmarks.common import best_of
from benchmarks.error_walls import HOURS, Case
from hygro.assess import face_condensate, running_mean
from hygro.assess.growth import wood_layers
from hygro.assess.mould import mould_class, mould_index
from hygro.assess.places import at_surfaces, surface
from hygro.record.dataset import to_dataset
from hygro.record.provenance import loads_hash
from hygro.solve.march import run
from hygro.solve.settings import Settings
from hygro.wall.grid import Accuracy, build_grid, split
from hygro.wall.loads import Loads

Array = NDArray[np.float64]
PARTS, TOLERANCE = 8, 0.2
MONTH = 720
"""Hours of the running mean of moisture content. [h]"""
BESIDE = ("case", "cli", "cli.py", "proof", "show", "study")
"""Parts of the package that no reference depends on."""
MASONRY = "medium resistant"
"""Mould class of a watched layer that has none: that of concrete (Ojanen et al. 2010)."""


class Trace(NamedTuple):
    """What is compared of a run, at every hour.

    Attributes
    ----------
    T : (N+1, 3)
        Outer and inner face of the watched layer, and the indoor surface. [K]
    rh : (N+1, 2)
        Both faces of the watched layer. [1]
    mc : (N+1, layers)
        Means of wood-based layers and of the watched one. [kg/kg]
    condensate : (N+1,)
        Water beyond sorption at the inner face of the watched layer. [kg/m²]
    index : (N+1,)
        Mould index, the higher of the two faces. [1]
    cost : (5,)
        Cells, seconds, steps, rejected steps, evaluations.
    """

    T: Array
    rh: Array
    mc: Array
    condensate: Array
    index: Array
    cost: Array


class Errors(NamedTuple):
    """One row of the table: a run against its reference.

    r.m.s. of temperatures [K] and humidities [1]; largest error of the moisture content anywhere
    and error of its highest 30-day mean [% by mass]; errors of the mould index [1] and of the
    largest mass of condensate [kg/m²]; cells, processor seconds, steps (rejected ones included),
    evaluations.
    """

    wall: str
    accuracy: str
    T_outer: float
    T_inner: float
    T_indoor: float
    rh_outer: float
    rh_inner: float
    mc_largest: float
    mc_peak: float
    index: float
    condensate: float
    cells: int
    seconds: float
    steps: int
    evaluations: int


def trace(
    case: Case, loads: Loads, settings: Settings, *, parts: int = 1, repeats: int = 1
) -> Trace:
    """March a wall; `parts` above 1 splits the cells."""
    wall, cells = case.wall, None
    if parts > 1:
        cells = split(wall, build_grid(wall, settings.accuracy), parts)
    seconds, result = best_of(repeats, lambda: run(wall, loads, settings, cells=cells))
    ds = to_dataset(wall, loads, result, {})
    faces = tuple(surface(ds, case.watch, face) for face in ("outer", "inner"))
    T = at_surfaces(ds, "interface_temperature", faces)
    rh = at_surfaces(ds, "interface_relative_humidity", faces)
    count = result.counters
    return Trace(
        T=np.column_stack([T, result.interface_T[:, -1, 1]]),
        rh=rh,
        mc=_contents(ds, faces[0].layer),
        condensate=face_condensate(ds, case.watch, "inner").values,
        index=mould_index(T, rh, sensitivity=_class(case)).max(axis=1),
        cost=np.array(
            [len(result.grid.layer), seconds, count["steps"], count["rejected"],
             count["evaluations"]]
        ),
    )  # fmt: skip


def _contents(ds: object, watched: int) -> Array:
    mean = ds["layer_water"].values / ds["layer_thickness"].values / ds["layer_density"].values
    return np.asarray(mean[:, sorted({*wood_layers(ds), watched})])


def _class(case: Case) -> str:
    return mould_class(case.wall.layer(case.watch).material.mould_class) or MASONRY


def reference(case: Case, loads: Loads, cache: Path | None = None, *, trust: bool = False) -> Trace:
    """The run on the split grid, from the folder `cache` where it lies there.

    Its name holds a hash of wall, loads and grid, and one of the sources of the engine; `trust`
    takes the newest with the first hash, whatever the sources.
    """
    if cache is None:
        return trace(case, loads, Settings(tolerance=TOLERANCE), parts=PARTS)
    known, sources = _key(case, loads), source_hash()
    path = cache / f"{known}-{sources}.npz"
    others = sorted(cache.glob(f"{known}-*.npz"), key=lambda p: p.stat().st_mtime)
    if trust and not path.exists() and others:
        path = others[-1]
    if path.exists():
        with np.load(path) as stored:
            return Trace(**stored)
    found = trace(case, loads, Settings(tolerance=TOLERANCE), parts=PARTS)
    cache.mkdir(parents=True, exist_ok=True)
    np.savez_compressed(path, **found._asdict())
    return found


def _key(case: Case, loads: Loads) -> str:
    grid = build_grid(case.wall)
    text = f"{case!r} {loads_hash(loads)} {grid.thickness.tolist()} {PARTS} {TOLERANCE}"
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def source_hash() -> str:
    """Of the sources and data of the engine, without what only reads or shows its records."""
    root = Path(hygro.__file__).parent
    digest = hashlib.sha256()
    for path in sorted(root.rglob("*")):
        if path.suffix in (".py", ".toml") and path.relative_to(root).parts[0] not in BESIDE:
            digest.update(path.read_bytes())
    return digest.hexdigest()[:16]


def errors(case: Case, accuracy: str, got: Trace, exact: Trace) -> Errors:
    """A run against its reference."""
    T, rh = (_rms(a - b) for a, b in ((got.T, exact.T), (got.rh, exact.rh)))
    window = min(MONTH, len(exact.mc))
    mean = [np.nanmax(running_mean(x.mc, window), axis=0) for x in (got, exact)]
    cells, seconds, steps, rejected, evaluations = got.cost
    return Errors(
        case.wall.name, accuracy, *T, *rh,
        mc_largest=100 * float(np.abs(got.mc - exact.mc).max()),
        mc_peak=100 * _largest(mean[0] - mean[1]),
        index=float(got.index.max() - exact.index.max()),
        condensate=float(got.condensate.max() - exact.condensate.max()),
        cells=int(cells), seconds=float(seconds), steps=int(steps + rejected),
        evaluations=int(evaluations),
    )  # fmt: skip


def _rms(difference: Array) -> list[float]:
    return [float(x) for x in np.sqrt(np.mean(difference**2, axis=0))]


def _largest(difference: Array) -> float:
    """The one of largest magnitude, with its sign."""
    return float(difference[np.argmax(np.abs(difference))])


def measure(
    case: Case,
    accuracies: Sequence[Accuracy],
    *,
    hours: int = HOURS,
    tolerance: float = 1.0,
    cache: Path | None = None,
    trust: bool = False,
    repeats: int = 1,
) -> tuple[list[Errors], Trace]:
    """A wall at some accuracies against its reference, and the reference."""
    loads = case.loads(hours)
    exact = reference(case, loads, cache, trust=trust)
    runs = (
        trace(case, loads, Settings(accuracy=x, tolerance=tolerance), repeats=repeats)
        for x in accuracies
    )
    return [errors(case, x, got, exact) for x, got in zip(accuracies, runs, strict=True)], exact
