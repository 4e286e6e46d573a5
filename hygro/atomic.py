"""Atomic file writes and exclusive locks. A leaf; knows nothing of what is written.

A file is replaced by one of its own `Kind` alone: what somebody else put there stays.

Every file and folder that outlives a command takes its place by `take_place`: content on the disk,
then the name, then the name on the disk.
"""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from hygro.errors import InputError
from hygro.kinds import Kind, refuse_other

try:
    import fcntl
except ImportError:  # a system without POSIX locks
    fcntl = None  # type: ignore[assignment]

_unfinished: set[Path] = set()
"""Temporary files of this process, for `abandon`."""


@contextmanager
def replacing(path: Path, kind: Kind | None = None) -> Iterator[Path]:
    """Give a new temporary file beside the target; on success it takes the target's place.

    Parameters
    ----------
    path : Path
        The target.
    kind : Kind, optional
        Of the file that may be there already; left out for files in a folder of our own.

    Raises
    ------
    InputError
        The folder does not exist or cannot be written, the target is a folder, or another kind of
        file.
    """
    if path.is_dir():
        raise InputError(f"{path}: is a folder; a file name is needed")
    if kind is not None:
        refuse_other(path, kind)
    try:
        temporary = _temporary(path)
    except OSError as error:
        raise _refused(path, error) from error
    try:
        yield temporary
        temporary.chmod(0o666 & ~_umask())
        take_place(temporary, path)
    except OSError as error:
        raise _refused(path, error) from error
    finally:
        temporary.unlink(missing_ok=True)
        _unfinished.discard(temporary)


def _temporary(path: Path) -> Path:
    handle, name = tempfile.mkstemp(prefix=".hygro-", suffix=path.suffix[-16:], dir=path.parent)
    os.close(handle)
    _unfinished.add(Path(name))
    return Path(name)


def abandon() -> None:
    """Remove the temporary files of this process, which is about to end in the middle of work."""
    for path in tuple(_unfinished):
        with suppress(OSError):
            path.unlink()


def _refused(path: Path, error: OSError) -> InputError:
    return InputError(f"{path}: cannot be written: {error.strerror or error}")


@contextmanager
def appearing(path: Path) -> Iterator[Path]:
    """Give a new temporary folder beside the target; on success it takes the target's place.

    Raises
    ------
    InputError
        Something has that name already, or the folder cannot be made or written.
    """
    try:
        temporary = Path(tempfile.mkdtemp(prefix=".hygro-", dir=path.parent))
    except OSError as error:
        raise _refused(path, error) from error
    try:
        yield temporary
        temporary.chmod(0o777 & ~_umask())
        take_place(temporary, path)
    except OSError as error:
        raise _refused(path, error) from error
    finally:
        shutil.rmtree(temporary, ignore_errors=True)


def take_place(temporary: Path, path: Path) -> None:
    """Move what is complete to its place so that no power cut leaves it empty or takes it back.

    The content is on the disk before the name is, and the name before anything goes on.
    """
    for inner in sorted(temporary.rglob("*")) if temporary.is_dir() else ():
        to_disk(inner)
    to_disk(temporary)
    temporary.replace(path)
    to_disk(path.parent)


def to_disk(path: Path) -> None:
    """Wait until the content of a file, or the names in a folder, are on the disk."""
    if path.is_dir():
        # a system or folder where names cannot be waited for keeps them as it does
        with suppress(OSError):
            _synced(path, os.O_RDONLY)
    else:
        _synced(path, os.O_RDWR)


def _synced(path: Path, way: int) -> None:
    handle = os.open(path, way)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


def write_text(path: Path, text: str, kind: Kind | None = None) -> None:
    """Write a text file in one move; raises `InputError` as `replacing`."""
    with replacing(path, kind) as temporary:
        temporary.write_text(text, encoding="utf-8")


@contextmanager
def exclusive(path: Path, what: Path) -> Iterator[None]:
    """Hold the lock file `path` so that no other process works on `what` meanwhile.

    The lock goes with the process that holds it, however that ends.

    Raises
    ------
    InputError
        Another process holds it, or the file cannot be made.
    """
    if fcntl is None:
        yield
        return
    try:
        handle = _locked(path)
    except BlockingIOError:
        raise InputError(f"{what}: another run is writing there; let it end first") from None
    except OSError as error:
        raise _refused(path, error) from error
    try:
        yield
    finally:
        path.unlink(missing_ok=True)
        os.close(handle)


def _locked(path: Path) -> int:
    """Open and lock a file; again where its last holder took the name away in between."""
    while True:
        handle = os.open(path, os.O_RDWR | os.O_CREAT | os.O_NOFOLLOW, 0o600)
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
            if os.path.samestat(os.fstat(handle), os.lstat(path)):
                return handle
        except FileNotFoundError:
            pass
        except OSError:
            os.close(handle)
            raise
        os.close(handle)


def check_target(path: Path, kind: Kind | None = None, *, made: bool = True) -> None:
    """Make sure that a file can be put there later, without leaving anything.

    Parameters
    ----------
    path : Path
        Where it is to be put.
    kind : Kind, optional
        Of what is to be put there, as in `replacing`.
    made : bool
        Whether its folder is made where it is not there.

    Raises
    ------
    InputError
        It is a folder or another kind of file, its name is too long, or its folder is not there or
        cannot be written.
    """
    try:
        if path.is_dir():
            raise InputError(f"{path}: is a folder; a file name is needed")
        if not made and not path.parent.exists():
            raise InputError(f"{path}: cannot be written: there is no folder {path.parent}")
    except OSError as error:
        raise _refused(path, error) from error
    if kind is not None:
        refuse_other(path, kind)
    check_folder(path.parent)


def check_name(path: Path) -> None:
    """Make sure that a file can have that name; raises `InputError` where it is too long."""
    try:
        os.lstat(path)
    except (FileNotFoundError, NotADirectoryError):
        pass
    except OSError as error:
        raise _refused(path, error) from error


def check_folder(path: Path) -> None:
    """Make sure that a folder can be made and written, without leaving anything.

    Raises
    ------
    InputError
        The nearest folder that exists is a file, or may not be written.
    """
    try:
        there = next(parent for parent in (path, *path.absolute().parents) if parent.exists())
        with tempfile.TemporaryFile(dir=there):
            return
    except NotADirectoryError:
        raise InputError(f"{path}: cannot be written: {there} is a file, no folder") from None
    except FileNotFoundError:
        raise InputError(
            f"{path}: cannot be written: {there} is there but takes no new files; "
            "does it belong to the system? name a folder of your own"
        ) from None
    except OSError as error:
        raise _refused(path, error) from error


def writable_folder(path: Path) -> Path:
    """Make a folder where there is none and make sure that files can be put there.

    Raises
    ------
    InputError
        It cannot be made or written.
    """
    try:
        made = [new for new in (path, *path.parents) if not new.exists()]
        path.mkdir(parents=True, exist_ok=True)
        for new in made:
            to_disk(new.parent)
        with tempfile.TemporaryFile(dir=path):
            return path
    except (FileExistsError, NotADirectoryError):
        there = next(parent for parent in (path, *path.absolute().parents) if parent.exists())
        raise InputError(f"{path}: must be a folder; {there} is a file") from None
    except OSError as error:
        raise _refused(path, error) from error
