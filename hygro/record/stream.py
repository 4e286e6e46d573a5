"""Long runs straight to a file: bounded memory, interrupted and resumed to the same bits.

Every block of about a year is kept beside the file with the checkpoint after it, and appended to
the netCDF file while the next block is computed. The parts go when the file is complete.
"""

from __future__ import annotations

import json
import os
import shutil
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from pathlib import Path
from typing import Any, NamedTuple

import netCDF4
import numpy as np
import xarray as xr

from hygro.errors import RecordError
from hygro.record.dataset import to_dataset
from hygro.record.provenance import attributes
from hygro.solve.balance import split_ledger
from hygro.solve.march import (
    CHUNK,
    Checkpoint,
    Chunk,
    Progress,
    Run,
    Setup,
    balance,
    begin,
    chunks,
    counters_of,
    join_chunks,
    prepare,
)
from hygro.solve.settings import Settings
from hygro.wall.loads import Loads, loads_between
from hygro.wall.wall import Wall

BLOCK = 26 * CHUNK
"""Hours that are kept and written together. [h]"""
LEVEL = 1
"""Compression level; higher ones gain a few per cent and cost several times as long."""


def simulate_to_file(
    wall: Wall,
    loads: Loads,
    path: str | Path,
    *,
    settings: Settings | None = None,
    provenance: dict[str, Any] | None = None,
    progress: Progress | None = None,
    resumed: Callable[[np.datetime64], None] | None = None,
) -> Path:
    """Run a wall through its loads and leave the record in a file.

    An earlier, interrupted run of the same wall, loads and settings to the same file is taken up
    where it stopped; `resumed` is then called with the date.

    Raises
    ------
    RecordError
        The file cannot be written.
    SolveError
        The march could not go on; what was done is kept for the next try.
    """
    path = Path(path)
    settings = settings or Settings()
    setup = prepare(wall, loads, settings)
    folder = path.with_name(f".{path.name}.parts")
    try:
        _open_folder(folder, _identity(setup))
        hour = _kept_hours(setup, folder)
        if hour and resumed is not None:
            resumed(loads.time[hour])
        point = _write_all(setup, folder, progress)
        attrs = attributes(
            wall, loads, settings, balance(setup, point), counters_of(point), provenance or {}
        )
        _finish(folder, path, attrs)
    except OSError as error:
        raise RecordError(
            f"{path}: cannot be written ({error.strerror or error}); does the folder exist, is the "
            "disk full, may you write there?"
        ) from None
    return path


class _Block(NamedTuple):
    chunk: Chunk
    point: Checkpoint


def _identity(setup: Setup) -> str:
    """What the kept blocks belong to."""
    closures = {"energy": 0.0, "moisture": 0.0}
    counters = {"steps": 0, "rejected": 0, "evaluations": 0, "retries": 0}
    attrs = attributes(setup.wall, setup.loads, setup.settings, closures, counters, {})
    keys = ("wall_sha256", "loads_sha256", "settings", "versions")
    return json.dumps({key: attrs[key] for key in keys}, sort_keys=True)


def _open_folder(folder: Path, identity: str) -> None:
    """Start a folder of parts, or keep the one of the same run."""
    manifest = folder / "run.json"
    if folder.exists() and not (manifest.exists() and manifest.read_text() == identity):
        shutil.rmtree(folder)
    folder.mkdir(exist_ok=True)
    manifest.write_text(identity)


def _write_all(setup: Setup, folder: Path, progress: Progress | None) -> Checkpoint:
    hours = setup.loads.hours
    pending: Future[None] | None = None
    (folder / "result.nc").unlink(missing_ok=True)
    with ThreadPoolExecutor(max_workers=1) as writer:
        for block in _blocks(setup, folder, progress):
            if pending is not None:
                pending.result()
            pending = writer.submit(_append, setup, folder / "result.nc", block)
            if progress is not None:
                progress(block.point.hour / hours, setup.loads.time[block.point.hour])
        if pending is not None:
            pending.result()
    return block.point


def _blocks(setup: Setup, folder: Path, progress: Progress | None) -> Iterator[_Block]:
    """Kept blocks first, then new ones, each kept before it is given."""
    point = begin(setup)
    while point.hour < setup.loads.hours:
        file = folder / f"hour-{point.hour:08d}.npz"
        block = _kept(file) if file.exists() else _computed(setup, point, progress)
        if not file.exists():
            _keep(file, block)
        yield block
        point = block.point


def _kept_hours(setup: Setup, folder: Path) -> int:
    """Hours that an earlier run has done."""
    hour, hours = 0, setup.loads.hours
    while hour < hours and (folder / f"hour-{hour:08d}.npz").exists():
        hour = min(hour + BLOCK, hours)
    return hour


def _computed(setup: Setup, point: Checkpoint, progress: Progress | None) -> _Block:
    parts, end = [], point.hour + BLOCK
    for chunk, after in chunks(setup, point):
        parts.append(chunk)
        point = after
        if progress is not None:
            progress(point.hour / setup.loads.hours, setup.loads.time[point.hour])
        if point.hour >= end:
            break
    return _Block(join_chunks(parts), point)


def _keep(file: Path, block: _Block) -> None:
    arrays = {f"chunk_{k}": v for k, v in block.chunk._asdict().items()}
    arrays |= {f"point_{k}": v for k, v in block.point._asdict().items()}
    part = file.with_suffix(".part")
    with part.open("wb") as opened:
        np.savez(opened, **arrays)
    os.replace(part, file)


def _kept(file: Path) -> _Block:
    with np.load(file) as stored:
        chunk = {k[6:]: stored[k] for k in stored.files if k.startswith("chunk_")}
        point = {k[6:]: stored[k] for k in stored.files if k.startswith("point_")}
    chunk["first"], point["hour"] = int(chunk["first"]), int(point["hour"])
    return _Block(Chunk(**chunk), Checkpoint(**point))


def _append(setup: Setup, file: Path, block: _Block) -> None:
    """Append the instants of a block; the first block brings coordinates and its own start."""
    ds = _dataset(setup, block.chunk)
    if block.chunk.first == 0:
        _create(ds, file)
    with netCDF4.Dataset(file, "a") as opened:
        start = len(opened.dimensions["time"])
        rows = slice(0 if block.chunk.first == 0 else 1, None)
        count = ds.sizes["time"] - (rows.start or 0)
        for name, array in ds.variables.items():
            if "time" in array.dims:
                values = _hours_since(array.values) if name == "time" else array.values
                opened.variables[str(name)][start : start + count] = values[rows]


def _dataset(setup: Setup, chunk: Chunk) -> xr.Dataset:
    loads = loads_between(setup.loads, chunk.first, chunk.first + len(chunk.ledger))
    run = Run(
        grid=setup.grid,
        ledger=split_ledger(chunk.ledger, len(setup.wall.gaps)),
        closure={},
        counters={},
        **{k: v for k, v in chunk._asdict().items() if k not in ("first", "ledger")},
    )
    return to_dataset(setup.wall, loads, run, {})


def _create(ds: xr.Dataset, file: Path) -> None:
    """An empty file with the layout, coordinates and attributes of a Dataset."""
    encoding: dict[str, dict[str, Any]] = {"time": {"units": TIME_UNITS, "dtype": "int64"}}
    for name, array in ds.variables.items():
        if array.dtype.kind == "f" and "time" in array.dims:
            sizes = [min(ds.sizes[d], CHUNK) if d == "time" else ds.sizes[d] for d in array.dims]
            encoding[str(name)] = {
                "zlib": True,
                "complevel": LEVEL,
                "shuffle": True,
                "chunksizes": tuple(sizes),
            }
    ds.isel(time=slice(0, 0)).to_netcdf(
        file, format="NETCDF4", engine="netcdf4", encoding=encoding, unlimited_dims=["time"]
    )


TIME_UNITS = "hours since 1900-01-01"


def _hours_since(time: np.ndarray) -> np.ndarray:
    return (time - np.datetime64("1900-01-01T00")) // np.timedelta64(1, "h")


def _finish(folder: Path, path: Path, attrs: dict[str, Any]) -> None:
    with netCDF4.Dataset(folder / "result.nc", "a") as opened:
        opened.setncatts(attrs)
    os.replace(folder / "result.nc", path)
    shutil.rmtree(folder)
