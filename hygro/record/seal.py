"""The seal of a record's file: its SHA-256 after its last byte, where netCDF does not look.

It is compared before the file goes to the netCDF library, which may not come back from a damaged
one.
"""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import BinaryIO

import netCDF4

from hygro.errors import RecordError
from hygro.kinds import Kind

MARK = b"hygro-sha256:"
_SIZE = len(MARK) + 64
_PIECE = 2**20
"""Bytes that are read at a time. [B]"""
_HDF5 = b"\x89HDF\r\n\x1a\n"
"""How a netCDF4 file begins."""


def seal(file: Path) -> None:
    """Put the seal to a file that is complete."""
    with file.open("rb") as whole:
        digest = hashlib.file_digest(whole, "sha256").hexdigest()
    with file.open("ab") as end:
        end.write(MARK + digest.encode())


def record_of(case: object) -> Kind:
    """Return the kind of the records of a case, by its name; None: of walls without one."""
    words = "a result of this program"
    return Kind(
        f"{words} {_of(case)}" if case else words,
        lambda file: _case_of(file) == (case or ""),
        lambda file: "" if (other := _case_of(file)) is None else f"{words} {_of(other)}",
        f"one {_of(case)}",
    )


def _of(case: object) -> str:
    return f"for case '{case}'" if case else "from no case file"


def _case_of(file: Path) -> str | None:
    """Name of the case of a record, empty without one; None where the file is no record."""
    try:
        check_seal(file)
    except RecordError:
        return None
    with netCDF4.Dataset(file) as record:
        return str(getattr(record, "case", ""))


def check_seal(file: Path) -> None:
    """Refuse a file that is not as it was sealed.

    Raises
    ------
    RecordError
        It has no seal, or another content.
    """
    with file.open("rb") as opened:
        begin, size = opened.read(len(_HDF5)), file.stat().st_size - _SIZE
        if begin != _HDF5 or size < 0:
            cause = "; a case? its run leaves a result (--out)" if file.suffix == ".toml" else ""
            raise RecordError(f"{file}: not a netCDF4 file, or damaged{cause}")
        opened.seek(size)
        found = opened.read()
        if not found.startswith(MARK):
            raise RecordError(
                f"{file}: not a result of this program, or damaged or changed since: must end with "
                "its checksum; write records with hygro.record.save"
            )
        if _digest(opened, size) != found[len(MARK) :].decode("ascii", "replace"):
            raise RecordError(
                f"{file}: damaged, or changed since: its checksum is of another content"
            )


def _digest(opened: BinaryIO, size: int) -> str:
    """SHA-256 of the first bytes of a file, a piece at a time."""
    opened.seek(0)
    digest = hashlib.sha256()
    while size > 0 and (piece := opened.read(min(size, _PIECE))):
        digest.update(piece)
        size -= len(piece)
    return digest.hexdigest()
