"""Records as netCDF4 files: written whole or not at all, read back without loss."""

from __future__ import annotations

import math
import warnings
from pathlib import Path

import netCDF4
import xarray as xr

from hygro.atomic import replacing
from hygro.errors import InputError, RecordError, file_path, must_be
from hygro.interrupts import interrupt_later
from hygro.record.check import check_record
from hygro.record.seal import check_seal, record_of, seal
from hygro.record.stream import TIME_UNITS

LARGEST = 2**34
"""A larger record is refused: a century of a wall of a hundred cells takes a third of it. [B]"""
WHOLE = "save keeps whole records as they were run, xarray.Dataset.to_netcdf parts and changed ones"


def save(record: xr.Dataset, path: str | Path) -> Path:
    """Write a record to netCDF4, compressed without loss.

    Parameters
    ----------
    record : Dataset
        As `simulate` leaves it.
    path : str or path
        The file; it is written whole or not at all. It may take the place of a record of the same
        case, or without a case as this one.

    Raises
    ------
    InputError
        No record, or no name of a file.
    RecordError
        The record is a part of one or was changed, so that it could not be opened again;
        `xarray.Dataset.to_netcdf` keeps those. The file cannot be written, or another is there.
    """
    must_be(record, xr.Dataset, "record", "a record, an xarray Dataset")
    path = file_path(path)
    _check(record, "record", WHOLE)
    encoding: dict[str, dict[str, object]] = {
        str(name): {"zlib": True, "complevel": 2, "shuffle": True, "fletcher32": True}
        for name, array in record.variables.items()
        if array.dtype.kind == "f" and array.ndim
    }
    encoding["time"] = {"units": TIME_UNITS, "dtype": "int64"}
    try:
        with replacing(path, record_of(record.attrs.get("case"))) as part:
            with interrupt_later():
                record.to_netcdf(part, format="NETCDF4", engine="netcdf4", encoding=encoding)
            seal(part)
    except InputError as error:
        raise RecordError(str(error)) from None
    except RuntimeError as error:  # what the netCDF library answers to a full disk
        raise RecordError(f"{path}: cannot be written ({error}); is the disk full?") from None
    return path


def load(path: str | Path) -> xr.Dataset:
    """Read a record into memory.

    Parameters
    ----------
    path : str or path
        A file that `save` or `simulate_to_file` wrote.

    Raises
    ------
    InputError
        No name of a file.
    RecordError
        The file is not one of ours, is damaged or was changed, or a value is out of bounds.
    """
    path = file_path(path)
    if not path.is_file():
        raise RecordError(f"{path}: {'is a folder' if path.is_dir() else 'no such file'}")
    check_seal(path)
    try:
        with netCDF4.Dataset(path) as packed:
            numbers = sum(math.prod(v.shape) for v in packed.variables.values())
        if 8 * numbers > LARGEST:
            raise RecordError(
                f"{path}: {8 * numbers / 2**30:.0f} GiB unpacked: must be at most "
                f"{LARGEST / 2**30:.0f} GiB; is it a result of this program?"
            )
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", xr.SerializationWarning)  # of dates: refused below
            with interrupt_later(), xr.open_dataset(path, engine="netcdf4") as opened:
                record = opened.load()
    except (OSError, ValueError, RuntimeError) as error:
        raise RecordError(f"{path}: not a netCDF4 file, or damaged ({error})") from None
    _refuse_odd_dates(record, path)
    _check(record, str(path), "is the file damaged?")
    return record


def _check(record: xr.Dataset, place: str, doubt: str) -> None:
    """Refuse what is not a whole and sound record; `doubt` ends the message."""
    try:
        check_record(record, place)
    except RecordError as error:
        raise RecordError(f"{error}; {doubt}") from None


def _refuse_odd_dates(record: xr.Dataset, path: Path) -> None:
    """Refuse dates beyond the calendar of a record, which are read as objects of another kind."""
    for name, variable in record.variables.items():
        if variable.dtype.kind == "O" and any(not isinstance(x, str) for x in variable.values.flat):
            what = "dates beyond 1678 to 2262, or no text"
            raise RecordError(f"{path}, {name}: {what}; is the file damaged?")
