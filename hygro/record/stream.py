"""Long runs straight to a file: bounded memory, interrupted and resumed to the same bits.

Every block of about a year is kept beside the file with the checkpoint after it, and appended to
the netCDF file while the next block is computed. The parts go when the file is complete.
"""

from __future__ import annotations

import json
import re
import zipfile
import zlib
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path
from typing import NamedTuple

import netCDF4
import numpy as np
import xarray as xr

from hygro.atomic import exclusive, replacing, take_place, to_disk, write_text
from hygro.errors import InputError, RecordError, file_path
from hygro.interrupts import interrupt_later
from hygro.kinds import refuse_other
from hygro.record.check import check_bounds
from hygro.record.dataset import to_dataset
from hygro.record.given import given_loads
from hygro.record.provenance import attributes, checked
from hygro.record.seal import record_of, seal
from hygro.room.models import Room
from hygro.solve.balance import split_ledger
from hygro.solve.march import Progress, chunks, join_chunks
from hygro.solve.settings import Settings, settings_of
from hygro.solve.setup import Checkpoint, Chunk, Run, Setup, balance, begin, counters_of, prepare
from hygro.solve.turn import CHUNK
from hygro.wall.loads import Loads, loads_between
from hygro.wall.wall import Wall

BLOCK = 26 * CHUNK
"""Hours that are kept and written together. [h]"""
LEVEL = 1
"""Compression level; higher ones gain a few per cent and cost several times as long."""


def simulate_to_file(
    wall: Wall,
    climate: xr.Dataset | Loads,
    room: Room | None = None,
    *,
    file: str | Path,
    settings: Settings | None = None,
    provenance: dict[str, object] | None = None,
    progress: Progress | None = None,
    resumed: Callable[[np.datetime64], None] | None = None,
    unreadable: Callable[[np.datetime64], None] | None = None,
) -> Path:
    """Run a wall and leave the record in a file; see `simulate`.

    An earlier, interrupted run of the same wall, loads and settings to the same file is taken up
    where it stopped; `resumed` is then called with the date. A kept block that is damaged is
    computed again, and `unreadable` is called with its first date.

    Parameters
    ----------
    wall, climate, room
        As in `simulate`; without a room `climate` is what `simulate_loads` takes.
    file : path
        Where the record goes; as for `save`.
    settings, provenance, progress
        As in `simulate`.
    resumed : callable, optional
        Called with the date where an earlier run is taken up.
    unreadable : callable, optional
        Called with the first date of a kept block that is damaged.

    Raises
    ------
    RecordError
        The file cannot be written, another is there, or what stands in the place of the kept blocks
        is not ours.
    SolveError
        The march could not go on; what was done is kept for the next try.
    """
    path = file_path(file)
    settings, given = settings_of(settings), checked(provenance)
    loads, source = given_loads(wall, climate, room)
    setup = prepare(wall, loads, settings)
    folder = path.with_name(f".{path.name}.parts")
    told = _Told(progress, resumed, unreadable)
    try:
        refuse_other(path, record_of(given.get("case")))
        _own(folder)
        with exclusive(folder / "lock", path):
            _open_folder(folder, _identity(setup))
            point = _write_all(setup, folder, told)
            known = {**source, **given}
            closures, counters = balance(setup, point), counters_of(point)
            attrs = attributes(wall, loads, settings, closures, counters, known)
            _finish(folder, path, attrs)
        folder.rmdir()
    except InputError as error:
        raise RecordError(str(error)) from None
    except (OSError, RuntimeError) as error:  # the netCDF library raises RuntimeError
        why = getattr(error, "strerror", None) or error
        raise RecordError(
            f"{path}: cannot be written ({why}); does the folder exist, is the disk full, may you "
            "write there?"
        ) from None
    return path


class _Told(NamedTuple):
    """Whom a run tells: share done and date; date it goes on from; date of a damaged block."""

    progress: Progress | None
    resumed: Callable[[np.datetime64], None] | None
    unreadable: Callable[[np.datetime64], None] | None


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


_OURS = re.compile(r"hour-\d{8}\.npz|run\.json|result\.nc|lock|\.hygro-.*")
"""Names of the files in a folder of parts."""


def _own(folder: Path) -> None:
    """Make the folder of parts; raises `RecordError` where something else has its name."""
    folder.mkdir(mode=0o700, exist_ok=True)
    to_disk(folder.parent)
    foreign = [p.name for p in folder.iterdir() if not _OURS.fullmatch(p.name)]
    if folder.is_symlink() or foreign:
        what = "is a link" if folder.is_symlink() else f"holds '{foreign[0]}'"
        raise RecordError(f"{folder}: {what}, so it is not ours; move it away or name another file")


def _open_folder(folder: Path, identity: str) -> None:
    """Keep the parts of the same run, remove those of another."""
    manifest = folder / "run.json"
    if not (manifest.is_file() and manifest.read_text("utf-8") == identity):
        _empty(folder)
        write_text(manifest, identity)


def _empty(folder: Path) -> None:
    """Remove what is ours in the folder of parts, but for the lock."""
    for file in folder.iterdir():
        if file.name != "lock" and _OURS.fullmatch(file.name):
            file.unlink()


def _write_all(setup: Setup, folder: Path, told: _Told) -> Checkpoint:
    hours = setup.loads.hours
    pending: Future[None] | None = None
    (folder / "result.nc").unlink(missing_ok=True)
    with _writer() as writer:
        for block in _blocks(setup, folder, told):
            if pending is not None:
                pending.result()
            pending = writer.submit(_append, setup, folder / "result.nc", block)
            if told.progress is not None:
                told.progress(block.point.hour / hours, setup.loads.time[block.point.hour])
        if pending is not None:
            pending.result()
    return block.point


@contextmanager
def _writer() -> Iterator[ThreadPoolExecutor]:
    """A thread that writes; what it has begun is done before anybody goes on, however often
    Ctrl-C is pressed: the library of the files stands no two that write.
    """
    writer = ThreadPoolExecutor(max_workers=1)
    try:
        yield writer
    finally:
        with interrupt_later():
            writer.shutdown()


def _blocks(setup: Setup, folder: Path, told: _Told) -> Iterator[_Block]:
    """The blocks in order: kept ones as they are, the others computed and kept."""
    point, computed = begin(setup), False
    while point.hour < setup.loads.hours:
        file, date = folder / f"hour-{point.hour:08d}.npz", setup.loads.time[point.hour]
        block = _kept(file, point.hour)
        if block is None:
            if file.exists() and told.unreadable is not None:
                told.unreadable(date)
            if point.hour and not computed and told.resumed is not None:
                told.resumed(date)
            block, computed = _computed(setup, point, told.progress), True
            _keep(file, block)
        yield block
        point = block.point
    if not computed and told.resumed is not None:
        told.resumed(setup.loads.time[point.hour])


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
    with replacing(file) as part, part.open("wb") as opened:
        np.savez(opened, **arrays)


def _kept(file: Path, hour: int) -> _Block | None:
    """Read a kept block; None where there is none or it is damaged (its checksums say so)."""
    try:
        with file.open("rb") as opened, np.load(opened) as stored:
            chunk = {k[6:]: stored[k] for k in stored.files if k.startswith("chunk_")}
            point = {k[6:]: stored[k] for k in stored.files if k.startswith("point_")}
        chunk["first"], point["hour"] = int(chunk["first"]), int(point["hour"])
        block = _Block(Chunk(**chunk), Checkpoint(**point))
    except (OSError, EOFError, ValueError, TypeError, KeyError, zipfile.BadZipFile, zlib.error):
        return None
    return block if block.chunk.first == hour else None


def _append(setup: Setup, file: Path, block: _Block) -> None:
    """Append the instants of a block; the first block brings coordinates and its own start."""
    ds = _dataset(setup, block.chunk)
    check_bounds(ds, f"wall '{setup.wall.name}'")
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
    encoding: dict[str, dict[str, object]] = {"time": {"units": TIME_UNITS, "dtype": "int64"}}
    for name, array in ds.variables.items():
        if array.dtype.kind == "f" and "time" in array.dims:
            sizes = [min(ds.sizes[d], CHUNK) if d == "time" else ds.sizes[d] for d in array.dims]
            encoding[str(name)] = {
                "zlib": True,
                "complevel": LEVEL,
                "shuffle": True,
                "fletcher32": True,
                "chunksizes": tuple(sizes),
            }
    ds.isel(time=slice(0, 0)).to_netcdf(
        file, format="NETCDF4", engine="netcdf4", encoding=encoding, unlimited_dims=["time"]
    )


TIME_UNITS = "hours since 1900-01-01"


def _hours_since(time: np.ndarray) -> np.ndarray:
    return (time - np.datetime64("1900-01-01T00")) // np.timedelta64(1, "h")


def _finish(folder: Path, path: Path, attrs: dict[str, object]) -> None:
    with netCDF4.Dataset(folder / "result.nc", "a") as opened:
        opened.setncatts(attrs)
    seal(folder / "result.nc")
    take_place(folder / "result.nc", path)
    _empty(folder)
