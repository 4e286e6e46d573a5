"""A disk that loses power: what it would hold at every moment. Owns no expected value.

While it watches a folder, every call that reaches the disk (fsync) or changes a name is a moment.
What may be found after a power cut then follows from two rules of a file system: a file holds what
it held when it was last synced, or nothing; a name is as it was when its folder was last synced, or
as it is now. Both extremes of the second are kept: names that are late, and names that are early.
"""

from __future__ import annotations

import os
import stat
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import NamedTuple
from unittest.mock import patch

Names = dict[str, int]
"""What a folder holds: inodes by name."""


class Moment(NamedTuple):
    """What the disk holds at a moment: after what, and the files of the watched folder by path."""

    after: str
    late: dict[str, bytes]
    early: dict[str, bytes]


class Disk:
    """What of a folder is on the disk; see `watched`."""

    def __init__(self, root: Path) -> None:
        self.root, self.moments = root, [Moment("the start", {}, {})]
        self._content: dict[int, bytes] = {}
        self._names: dict[int, Names] = {}
        self._folders: set[int] = set()
        self._sync_folder(root)

    def _sync_folder(self, folder: Path) -> None:
        entries = {e.name: e.inode() for e in os.scandir(folder)}
        self._names[folder.stat().st_ino] = entries

    def synced(self, handle: int) -> None:
        """Note what reached the disk."""
        path = Path(f"/proc/self/fd/{handle}").resolve()
        found = os.fstat(handle)
        if stat.S_ISDIR(found.st_mode):
            self._sync_folder(path)
        else:
            self._content[found.st_ino] = path.read_bytes()
        self.told(f"sync of {path.name}")

    def told(self, after: str) -> None:
        """Note what the disk would hold now."""
        folders = [p for p in (self.root, *self.root.rglob("*")) if p.is_dir()]
        now = {p.stat().st_ino: {e.name: e.inode() for e in os.scandir(p)} for p in folders}
        self._folders |= set(now)
        top = self.root.stat().st_ino
        late, early = dict(self._files(top, "", self._names)), dict(self._files(top, "", now))
        self.moments.append(Moment(after, late, early))

    def _files(
        self, folder: int, path: str, names: dict[int, Names]
    ) -> Iterator[tuple[str, bytes]]:
        """Files below a folder by some names; a folder without any is as good as none."""
        for name, inode in names.get(folder, {}).items():
            if inode in self._folders:
                yield from self._files(inode, f"{path}{name}/", names)
            else:
                yield f"{path}{name}", self._content.get(inode, b"")


@contextmanager
def watched(root: Path) -> Iterator[Disk]:
    """Watch a folder; see `Disk`. The calls do what they did."""
    disk = Disk(root)
    real = {name: getattr(os, name) for name in ("fsync", "replace", "rename", "unlink", "mkdir")}

    def fsync(handle: int) -> None:
        real["fsync"](handle)
        disk.synced(handle)

    def names(call: str):
        def changed(*places: str, **more: object) -> None:
            real[call](*places, **more)
            disk.told(f"{call} of {Path(places[0]).name}")

        return changed

    with (
        patch("os.fsync", fsync),
        patch("os.replace", names("replace")),
        patch("os.rename", names("rename")),
        patch("os.unlink", names("unlink")),
        patch("os.mkdir", names("mkdir")),
    ):
        yield disk


def restored(files: dict[str, bytes], folder: Path) -> Path:
    """Put what a disk held into a new folder."""
    for name, content in files.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(content)
    return folder
