"""Weather that is kept for the next command is that which would be computed, or it is not used.

Expected values are those computed where nothing is kept.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import xarray as xr

import weather
from hygro.case.normals import read_normals
from weather import kept
from weather.kept import keeping

NORMALS = read_normals(Path(__file__).parents[2] / "cases/demonstration/normals.toml")
Weather = tuple[xr.Dataset, xr.Dataset]


def made(seed: int = 1, years: int = 1, **plane: float | str) -> Weather:
    climate = weather.generate(NORMALS, years=years, seed=seed)
    return climate, weather.plane_loads(climate, **{"azimuth": 0.0, **plane})


def same(one: Weather, other: Weather) -> bool:
    """Whether all bits, stamps and attributes are the same."""
    return all(
        a.identical(b) and all(a[k].values.tobytes() == b[k].values.tobytes() for k in a.variables)
        for a, b in zip(one, other, strict=True)
    )


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path / "weather"


def kept_in(folder: Path, make: Callable[[], Weather] = made) -> Weather:
    with keeping(lambda: folder):
        return make()


@pytest.fixture
def no_sun(monkeypatch: pytest.MonkeyPatch) -> Callable[[], None]:
    """What makes any computation of weather raise."""

    def refuse(*_: object) -> None:
        raise AssertionError("computed")

    def from_now_on() -> None:
        monkeypatch.setattr("weather.plane.sun_of", refuse)
        monkeypatch.setattr("weather.synthetic.sky.sun_of", refuse)

    return from_now_on


@pytest.mark.parametrize("years", [1, 2])
def test_what_was_kept_has_the_bits_of_what_is_computed(
    years: int, folder: Path, no_sun: Callable[[], None]
) -> None:
    computed = made(years=years)
    assert same(kept_in(folder, lambda: made(years=years)), computed)
    no_sun()
    assert same(kept_in(folder, lambda: made(years=years)), computed)
    assert len(list(folder.iterdir())) == 2


def test_what_was_kept_can_be_written_to(folder: Path) -> None:
    def ones() -> kept.Series:
        return {"x": np.ones(3)}

    with keeping(lambda: folder):
        for _ in range(3):
            values = kept.kept(ones)["x"]
            assert values.tolist() == [1.0, 1.0, 1.0]
            values += 1.0


def test_what_no_command_asks_for_is_computed(folder: Path, no_sun: Callable[[], None]) -> None:
    kept_in(folder)
    no_sun()
    with pytest.raises(AssertionError, match="computed"):
        made()


def test_what_differs_has_files_of_its_own(folder: Path) -> None:
    different = (
        {}, {"seed": 2}, {"years": 2}, {"azimuth": 0.5}, {"sky": "haydavies"},
        {"tilt": 80.0, "rain_method": None},
    )  # fmt: skip
    for options in different:
        assert same(kept_in(folder, lambda o=options: made(**o)), made(**options)), options
    assert len(list(folder.iterdir())) == 3 + len(different)  # three climates


def flipped(path: Path) -> None:
    content = bytearray(path.read_bytes())
    content[len(content) // 2] ^= 1
    path.write_bytes(content)


DAMAGE: dict[str, Callable[[Path], object]] = {
    "a bit": flipped,
    "its end": lambda path: path.write_bytes(path.read_bytes()[:-8]),
    "all of it": lambda path: path.write_bytes(b""),
    "zeros": lambda path: path.write_bytes(bytes(path.stat().st_size)),
    "text": lambda path: path.write_bytes(b"[]\n" * 999),
}


@pytest.mark.parametrize("damage", DAMAGE)
def test_a_damaged_file_is_as_none_and_is_mended(damage: str, folder: Path) -> None:
    computed = kept_in(folder)
    sound = {path: path.read_bytes() for path in folder.iterdir()}
    for path in sound:
        DAMAGE[damage](path)
        assert path.read_bytes() != sound[path]
    assert same(kept_in(folder), computed)
    assert {path: path.read_bytes() for path in folder.iterdir()} == sound


def test_files_that_took_each_others_names_are_as_none(folder: Path) -> None:
    computed = [kept_in(folder), kept_in(folder, lambda: made(azimuth=90.0))]
    planes = [path for path in folder.iterdir() if path.stat().st_size < 2e5]
    assert len(planes) == 2
    one, other = (path.read_bytes() for path in planes)
    planes[0].write_bytes(other)
    planes[1].write_bytes(one)
    assert same(kept_in(folder), computed[0])
    assert same(kept_in(folder, lambda: made(azimuth=90.0)), computed[1])


def test_a_folder_in_the_place_of_a_file_is_left_and_nothing_is_said(
    folder: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    computed = kept_in(folder)
    for path in list(folder.iterdir()):
        path.unlink()
        path.mkdir()
    assert same(kept_in(folder), computed)
    assert all(path.is_dir() for path in folder.iterdir())
    assert capfd.readouterr() == ("", "")


@pytest.mark.parametrize("below", ["file/below", None])
def test_without_a_folder_to_write_all_is_computed_and_nothing_is_said(
    below: str | None, tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "file").write_text("")
    with keeping(lambda: None if below is None else tmp_path / below):
        assert same(made(), made())
    assert [path.name for path in tmp_path.iterdir()] == ["file"]
    assert capfd.readouterr() == ("", "")


def test_what_cannot_be_moved_to_its_place_leaves_no_scrap(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise OSError

    monkeypatch.setattr(os, "replace", full)
    kept_in(folder)
    assert list(folder.iterdir()) == []


def test_the_oldest_go_when_there_are_too_many(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def series(number: int) -> kept.Series:
        return {"x": np.full(1000, float(number))}

    monkeypatch.setattr(kept, "MOST", 3 * 8100)
    with keeping(lambda: folder):
        for number in range(5):
            before = set(folder.iterdir()) if number else set()
            kept.kept(series, number)
            (new,) = set(folder.iterdir()) - before
            os.utime(new, (number, number))
        names = {x.stat().st_mtime for x in folder.iterdir()}
        assert names == {2.0, 3.0, 4.0}
        monkeypatch.setattr(kept, "MOST", 8000)  # of these 8 kB are too many
        kept.kept(series, 5)
    assert {x.stat().st_mtime for x in folder.iterdir()} == names


def test_another_version_of_anything_gives_another_key(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def key() -> bytes:
        kept._made_by.cache_clear()
        return kept._made_by()

    copy = tmp_path / "weather"
    shutil.copytree(Path(weather.__file__).parent, copy)
    known = [key()]
    monkeypatch.setattr(kept, "__file__", str(copy / "kept.py"))
    assert key() == known[0]  # the same sources
    for name in ("plane.py", "moistair.py", "synthetic/rain.py", "kept.py"):
        path = copy / name
        path.write_text(path.read_text() + "\n")
        known.append(key())
    monkeypatch.setattr(kept, "version", lambda name: "0" if name == "pvlib" else "1")
    known.append(key())
    monkeypatch.setattr(np, "show_config", lambda **_: {"SIMD Extensions": {"found": []}})
    known.append(key())
    kept._made_by.cache_clear()
    assert len(set(known)) == len(known) == 7


def test_functions_of_the_same_arguments_have_files_of_their_own(folder: Path) -> None:
    def one() -> kept.Series:
        return {"x": np.ones(3)}

    def two() -> kept.Series:
        return {"x": np.full(3, 2.0)}

    with keeping(lambda: folder):
        assert [kept.kept(make)["x"][0] for make in (one, two, one)] == [1.0, 2.0, 1.0]


def test_what_is_no_part_of_a_key_is_refused() -> None:
    # A text of it might be that of another value.
    with pytest.raises(TypeError, match="set"):
        kept._code({1})
