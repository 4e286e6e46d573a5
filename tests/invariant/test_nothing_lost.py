"""A power cut at any moment: what was finished is there, what was not goes on to the same bytes."""

from __future__ import annotations

import sqlite3
import threading
from pathlib import Path

import pytest
from feature_walls import features
from forgetful_disk import Disk, restored, watched
from random_walls import random_loads

from hygro import atomic
from hygro.atomic import appearing, write_text
from hygro.decide.rate import Row
from hygro.decide.store import Store
from hygro.record import load, save, simulate_loads, simulate_to_file, stream
from hygro.solve.turn import CHUNK

pytestmark = pytest.mark.skipif(not Path("/proc/self/fd").is_dir(), reason="reads /proc/self/fd")

OLD, NEW = b"old and whole", b"new and whole"


def overwritten(root: Path) -> Disk:
    """Watch one file take the place of another."""
    (root / "x.txt").write_bytes(OLD)
    with (root / "x.txt").open("rb+") as opened:
        stream_handle = opened.fileno()
        with watched(root) as disk:
            disk.synced(stream_handle)
            write_text(root / "x.txt", NEW.decode())
    return disk


def test_a_file_is_the_old_or_the_new_one_at_every_moment(tmp_path: Path) -> None:
    disk = overwritten(tmp_path)
    for moment in disk.moments[1:]:
        for files in (moment.late, moment.early):
            assert files["x.txt"] in (OLD, NEW), moment.after
    assert disk.moments[-1].late["x.txt"] == NEW  # once it is said to be written, it is


@pytest.mark.parametrize("lost", ["content", "name"])
def test_the_disk_notices_a_sync_that_is_missing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, lost: str
) -> None:
    whole = atomic.to_disk
    monkeypatch.setattr(
        atomic, "to_disk", lambda path: None if path.is_dir() is (lost == "name") else whole(path)
    )
    disk = overwritten(tmp_path)
    if lost == "content":
        assert any(moment.early["x.txt"] == b"" for moment in disk.moments[1:])
    else:
        assert disk.moments[-1].late["x.txt"] == OLD


def test_a_folder_appears_whole_or_not_at_all(tmp_path: Path) -> None:
    with watched(tmp_path) as disk, appearing(tmp_path / "out.zarr") as temporary:
        (temporary / "inner").mkdir()
        for name in ("a", "inner/b"):
            (temporary / name).write_bytes(NEW)
    whole = {"out.zarr/a": NEW, "out.zarr/inner/b": NEW}
    for moment in disk.moments:
        for files in (moment.late, moment.early):
            found = {k: v for k, v in files.items() if k.startswith("out.zarr/")}
            assert found in ({}, whole), moment.after
    assert disk.moments[-1].late == whole


def test_a_saved_record_is_whole_or_not_there(tmp_path: Path) -> None:
    record = simulate_loads(*features()["ventilated gap"])
    with watched(tmp_path) as disk:
        save(record, tmp_path / "x.nc")
    whole = (tmp_path / "x.nc").read_bytes()
    for moment in disk.moments:
        for files in (moment.late, moment.early):
            assert files.get("x.nc", whole) == whole, moment.after
    assert disk.moments[-1].late["x.nc"] == whole


def test_a_run_to_a_file_goes_on_after_a_power_cut_at_any_moment(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Three kept blocks; at every moment, with names late and early, the same bytes come out."""
    monkeypatch.setattr(stream, "BLOCK", CHUNK)
    wall = features()["rain leak"].wall
    loads = random_loads(wall, 1, 2 * CHUNK + 50)
    first = tmp_path / "first"
    first.mkdir()
    with watched(first) as disk:
        simulate_to_file(wall, loads, file=first / "x.nc")
    whole = (first / "x.nc").read_bytes()
    assert disk.moments[-1].late["x.nc"] == whole  # kept blocks may come back, and go again
    states = {
        tuple(sorted(files.items())): moment.after
        for moment in disk.moments
        for files in (moment.late, moment.early)
    }
    assert len(states) > 8  # the manifest, three blocks, the result, the parts that go
    kept = set()
    for k, (files, after) in enumerate(states.items()):
        there = restored(dict(files), tmp_path / f"state {k}")
        there.mkdir(exist_ok=True)
        if (there / "x.nc").exists():
            assert (there / "x.nc").read_bytes() == whole, after
        dates = []
        simulate_to_file(wall, loads, file=there / "x.nc", resumed=dates.append)
        assert (there / "x.nc").read_bytes() == whole, after
        assert sorted(p.name for p in there.iterdir()) == ["x.nc"], after
        kept |= set(map(str, dates))
    assert len(kept) == 3  # some go on after one block, some after two, some find all three
    load(tmp_path / "state 0" / "x.nc")


def test_a_store_waits_for_the_disk_at_every_transaction(tmp_path: Path) -> None:
    """2 is FULL: SQLite syncs the log before a transaction counts as done (its documentation)."""
    with Store(tmp_path / "x.study") as store:
        assert store._base.execute("PRAGMA synchronous").fetchone() == (2,)
        assert store._base.execute("PRAGMA journal_mode").fetchone() == ("wal",)


def test_a_claim_that_reads_first_holds_its_place(tmp_path: Path) -> None:
    """Another process writes between what a claim reads and what it writes: it has to wait.

    A transaction that only becomes a writer when it writes would be refused there, without any
    patience, because what it has read is no longer so.
    """
    first, second = (
        Store(tmp_path / "x.study"),
        sqlite3.connect(
            tmp_path / "x.study", timeout=30.0, isolation_level=None, check_same_thread=False
        ),
    )
    order: list[str] = []

    def write() -> None:
        second.execute("INSERT INTO claim VALUES ('other', 'nobody:0:x', 0)")
        order.append("other")

    writing = threading.Thread(target=write)
    reads = first._free_claims

    def read_then_wait(now: float) -> None:
        reads(now)
        writing.start()
        writing.join(timeout=0.5)

    first._free_claims = read_then_wait
    assert first.claim(["mine"]) == ["mine"]
    order.append("mine")
    writing.join()
    assert sorted(order) == ["mine", "other"]
    assert second.execute("SELECT count(*) FROM claim").fetchone() == (2,)
    first.put(Row("mine", "failed", error="kept"))
    assert first.finished(["mine"]) == {"mine"}
    first.close()
    second.close()
