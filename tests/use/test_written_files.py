"""Result files under bad conditions: full disk, other people's files, two runs, damaged years."""

from __future__ import annotations

import json
import os
import resource
import subprocess
import sys
from pathlib import Path

import pytest
from case_files import write_case
from typer.testing import CliRunner, Result

from hygro.atomic import exclusive, replacing, writable_folder
from hygro.cli import app
from hygro.errors import InputError
from hygro.record import load, stream
from hygro.study.plan import file_names


def hygro(*arguments: str) -> Result:
    return CliRunner().invoke(app, list(arguments))


def only_small_files() -> None:
    """As on a full disk: no file grows beyond 400 kB."""
    resource.setrlimit(resource.RLIMIT_FSIZE, (400_000, 400_000))


@pytest.mark.parametrize("processes", ["1", "2"])
def test_a_full_disk_is_one_error_line_a_run_and_leaves_no_scrap(
    tmp_path: Path, processes: str
) -> None:
    case, out = write_case(tmp_path), tmp_path / "out"
    command = [sys.executable, "-m", "hygro.cli", "compare", str(case), "--out", str(out)]
    done = subprocess.run(
        [*command, "--processes", processes], capture_output=True, check=False, timeout=300,
        preexec_fn=only_small_files,
    )  # fmt: skip
    lines = done.stderr.decode().splitlines()
    assert done.returncode == 2, lines
    assert [line.split(":")[0] for line in lines] == ["error"] * 3
    assert all("cannot be written" in line for line in lines)
    left = [p.name for p in out.iterdir() if p.name.startswith(".") or p.suffix == ".nc"]
    assert left == []


@pytest.mark.parametrize("below", ["", "below"])
def test_a_file_where_a_folder_is_needed_is_said(tmp_path: Path, below: str) -> None:
    there = tmp_path / "results"
    there.touch()
    with pytest.raises(InputError, match=f"must be a folder; {there} is a file"):
        writable_folder(there / below)


def test_a_run_to_a_full_disk_is_one_error_line(tmp_path: Path) -> None:
    case, out = write_case(tmp_path), tmp_path / "x.nc"
    command = [sys.executable, "-m", "hygro.cli", "run", str(case), "--wall", "plain"]
    done = subprocess.run(
        [*command, "--out", str(out)], capture_output=True, check=False, timeout=300,
        preexec_fn=only_small_files,
    )  # fmt: skip
    (line,) = done.stderr.decode().splitlines()
    assert done.returncode == 2
    assert line.startswith(f"error: {out}: cannot be written") or "hour-" in line
    assert not out.exists()


def test_a_record_that_cannot_be_written_leaves_those_of_the_other_walls(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import xarray as xr

    write = xr.Dataset.to_netcdf

    def full(self: xr.Dataset, path: Path, **options: object) -> object:
        if self.attrs["title"] == "leaky":
            raise RuntimeError("NetCDF: HDF error")
        return write(self, path, **options)

    monkeypatch.setattr(xr.Dataset, "to_netcdf", full)
    out = tmp_path / "out"
    result = hygro("compare", str(write_case(tmp_path)), "--out", str(out), "--processes", "1")
    assert result.exit_code == 3
    assert "1 plain" in result.stdout
    assert all("is the disk full?" in line for line in result.stderr.splitlines())
    names = {path.name for path in out.iterdir()}
    assert {"plain.nc", "comparison.csv"} <= names
    assert not any(name.startswith((".", "leaky")) for name in names)


def test_a_table_that_cannot_be_written_does_not_lose_the_comparison(tmp_path: Path) -> None:
    out = tmp_path / "out"
    (out / "comparison.png").mkdir(parents=True)
    result = hygro("compare", str(write_case(tmp_path)), "--out", str(out), "--processes", "1")
    assert result.exit_code == 2
    assert "1 plain" in result.stdout
    (line,) = result.stderr.replace("\n  ", " ").splitlines()
    assert line == f"error: {out / 'comparison.png'}: is a folder; a file name is needed"
    assert (out / "plain.nc").is_file()


def test_a_link_at_a_temporary_name_does_not_reach_its_target(tmp_path: Path) -> None:
    victim = tmp_path / "victim"
    victim.write_text("precious")
    case = str(write_case(tmp_path))
    out = tmp_path / "out"
    out.mkdir()
    for name in (".plain.nc.part", ".plain.nc", ".x.nc.lock"):
        (out / name).symlink_to(victim)
    assert hygro("compare", case, "--wall", "plain", "--out", str(out)).exit_code == 0
    result = hygro("run", case, "--wall", "plain", "--out", str(out / "x.nc"))
    assert result.exit_code == 2  # the lock is somebody's link
    assert victim.read_text() == "precious"
    assert (out / "plain.nc").is_file()
    assert not (out / "plain.nc").is_symlink()


def test_a_foreign_folder_of_parts_is_kept_and_refused(tmp_path: Path) -> None:
    case, out = str(write_case(tmp_path)), tmp_path / "x.nc"
    theirs = tmp_path / ".x.nc.parts"
    theirs.mkdir()
    (theirs / "thesis.txt").write_text("precious")
    result = hygro("run", case, "--wall", "plain", "--out", str(out))
    assert result.exit_code == 2
    assert "is not ours" in result.stderr
    assert (theirs / "thesis.txt").read_text() == "precious"
    (theirs / "thesis.txt").unlink()
    theirs.rmdir()
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    theirs.symlink_to(elsewhere)
    assert hygro("run", case, "--wall", "plain", "--out", str(out)).exit_code == 2
    assert elsewhere.is_dir()


def test_the_parts_of_another_run_give_way(tmp_path: Path) -> None:
    case, out = str(write_case(tmp_path)), tmp_path / "x.nc"
    parts = tmp_path / ".x.nc.parts"
    parts.mkdir()
    (parts / "run.json").write_text("{}")
    (parts / "hour-00000000.npz").write_bytes(b"old")
    result = hygro("run", case, "--wall", "plain", "--out", str(out))
    assert result.exit_code == 0, result.output
    assert "could not be read" not in result.output
    assert not parts.exists()


def test_a_second_run_into_the_same_file_or_folder_ends_with_code_2(tmp_path: Path) -> None:
    case = str(write_case(tmp_path))
    held = (tmp_path / ".x.nc.lock", tmp_path / "x.nc")
    with exclusive(*held):
        result = hygro("run", case, "--wall", "plain", "--out", str(tmp_path / "x.nc"))
    assert result.exit_code == 2
    assert "another run is writing there" in result.stderr
    out = tmp_path / "out"
    out.mkdir()
    with exclusive(out / ".hygro.lock", out):
        result = hygro("compare", case, "--out", str(out))
    assert result.exit_code == 2
    assert list(out.iterdir()) == []
    assert hygro("run", case, "--wall", "plain", "--out", str(held[1])).exit_code == 0
    assert not held[0].exists()


def test_a_lock_goes_with_its_process(tmp_path: Path) -> None:
    lock = tmp_path / "lock"
    code = (
        "import os, sys; from pathlib import Path; from hygro.atomic import exclusive\n"
        f"with exclusive(Path({str(lock)!r}), Path('x')): os._exit(0)"
    )
    subprocess.run([sys.executable, "-c", code], check=True)
    assert lock.exists()
    with (
        exclusive(lock, tmp_path),
        pytest.raises(InputError, match="another run"),
        exclusive(lock, tmp_path),
    ):
        pass
    assert not lock.exists()


@pytest.mark.parametrize("damage", [b"", b"half"], ids=["empty", "truncated"])
def test_a_damaged_year_is_computed_again_and_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, damage: bytes
) -> None:
    case = str(write_case(tmp_path, ("[settings]", "[settings]\nyears = 2")))
    out = tmp_path / "x.nc"
    arguments = ("run", case, "--wall", "plain", "--out")
    assert hygro(*arguments, str(tmp_path / "whole.nc")).exit_code == 0
    computed = stream._computed

    def stopped(setup: object, point: object, progress: object) -> object:
        if point.hour > 0:
            raise KeyboardInterrupt
        return computed(setup, point, progress)

    monkeypatch.setattr(stream, "_computed", stopped)
    assert hygro(*arguments, str(out)).exit_code == 130
    monkeypatch.undo()
    block = tmp_path / ".x.nc.parts" / "hour-00000000.npz"
    block.write_bytes(block.read_bytes()[:1000] if damage else b"")
    result = hygro(*arguments, str(out))
    assert result.exit_code == 0, result.output
    text = " ".join(result.stdout.split())
    assert "kept years could not be read, computed again from 2001-01-01 on" in text
    one, two = load(tmp_path / "whole.nc"), load(out)
    assert one.drop_attrs().identical(two.drop_attrs())


NAMES = ["One", "one", "!!!", "\N{BRICK}", "one rain", "one service", "ONE", "a/b", "..", "x" * 300]


ENDS = ("", "-service", "-rain", "-rain-service", "-air", "-both", "-both-service")
"""What the names of results end in, with leaks one by one and with a year of service."""


def test_file_names_differ_are_not_empty_and_not_hidden() -> None:
    found = list(file_names(NAMES).values())
    files = [f"{name}{end}" for name in found for end in ENDS]
    assert len({name.casefold() for name in files}) == len(ENDS) * len(NAMES)
    assert all(name[0].isalnum() and len(name) < 80 and "/" not in name for name in files)
    assert found[:2] == ["one", "one-2"]


ONCE = ("[settings]", '[settings]\nrepeat = "once"')


def test_walls_of_like_names_keep_a_result_and_a_figure_each(tmp_path: Path) -> None:
    case = write_case(tmp_path, ('name = "leaky"\n', 'name = "Plain"\n'), ONCE)
    out = tmp_path / "out"
    result = hygro("compare", str(case), "--out", str(out), "--processes", "1")
    assert result.exit_code == 0, result.output
    assert {p.name for p in out.glob("*.nc")} == {"plain.nc", "plain-2.nc", "plain-2-rain.nc"}
    assert {p.name for p in out.glob("section*")} == {"section-plain.png", "section-plain-2.png"}
    titles = {p.name: load(p).attrs["title"] for p in out.glob("*.nc")}
    assert titles == {
        "plain.nc": "plain", "plain-2.nc": "Plain", "plain-2-rain.nc": "Plain",
    }  # fmt: skip
    told = json.loads((out / "comparison.json").read_text(encoding="utf-8"))
    assert {run["file"] for wall in told for run in wall["runs"]} == set(titles)


def test_a_file_is_on_the_disk_before_it_has_its_name(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    seen: list[bool] = []
    monkeypatch.setattr(os, "fsync", lambda _: seen.append((tmp_path / "x.txt").exists()))
    with replacing(tmp_path / "x.txt") as temporary:
        temporary.write_text("text")
    assert seen == [False, True]  # the file without its name, then the folder with it
