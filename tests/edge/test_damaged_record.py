"""A record that is damaged, changed or out of bounds is refused, made or opened."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import netCDF4
import numpy as np
import pytest
import xarray as xr
from feature_walls import features, frame
from random_walls import random_loads

from hygro.errors import RecordError
from hygro.record import load, save, simulate_loads, simulate_to_file
from hygro.record.seal import MARK, seal
from hygro.record.variables import VARIABLES
from hygro.wall.elements import Gap


@pytest.fixture(scope="module")
def record() -> xr.Dataset:
    return simulate_loads(*features()["ventilated gap"]).load()


@pytest.fixture(scope="module")
def files(record: xr.Dataset, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("sound")
    streamed = simulate_to_file(*features()["ventilated gap"], file=folder / "streamed.nc")
    return {"saved": save(record, folder / "saved.nc"), "streamed": streamed}


def written(record: xr.Dataset, file: Path) -> Path:
    """A file with the seal of a record, whatever it holds."""
    record.to_netcdf(file, engine="netcdf4")
    seal(file)
    return file


@pytest.mark.parametrize("way", ["saved", "streamed"])
def test_one_flipped_bit_anywhere_is_refused(
    way: str, files: dict[str, Path], tmp_path: Path
) -> None:
    whole, file = files[way].read_bytes(), tmp_path / "flipped.nc"
    ends = [0, 3, 9, len(whole) - 1, len(whole) - 64, len(whole) - 65, len(whole) - 64 - len(MARK)]
    places = [*ends, *np.random.default_rng(1).integers(0, len(whole), 60)]
    for place in places:
        flipped = bytearray(whole)
        flipped[place] ^= 1 << int(place % 8)
        file.write_bytes(flipped)
        with pytest.raises(RecordError, match=r"flipped\.nc: .*damaged"):
            load(file)


@pytest.mark.parametrize("way", ["saved", "streamed"])
def test_every_chunk_has_a_checksum_for_other_readers(way: str, files: dict[str, Path]) -> None:
    with netCDF4.Dataset(files[way]) as opened:
        for name in ("temperature", "water_content", "rain_incident", "heat_flux"):
            assert opened.variables[name].filters()["fletcher32"], name


def test_a_file_that_another_program_changed_is_refused(
    files: dict[str, Path], tmp_path: Path
) -> None:
    file = tmp_path / "changed.nc"
    file.write_bytes(files["saved"].read_bytes())
    with netCDF4.Dataset(file, "a") as opened:
        opened.title = "another wall"
    with pytest.raises(RecordError, match="changed since"):
        load(file)


def test_a_file_that_netcdf_cannot_read_is_refused(tmp_path: Path) -> None:
    file = tmp_path / "hollow.nc"
    file.write_bytes(b"\x89HDF\r\n\x1a\n" + bytes(200))
    seal(file)
    with pytest.raises(RecordError, match="not a netCDF4 file, or damaged"):
        load(file)


def test_a_case_in_place_of_a_result_is_asked_about(tmp_path: Path) -> None:
    file = tmp_path / "case.toml"
    file.write_text('[case]\nname = "house"\n' * 20)
    with pytest.raises(RecordError, match=r"not a netCDF4 file, or damaged; a case\?"):
        load(file)


def test_a_chunk_that_fails_its_checksum_is_refused(files: dict[str, Path], tmp_path: Path) -> None:
    """As if the seal were right: the middle of the file lies in the chunks of an array."""
    content = bytearray(files["saved"].read_bytes()[: -len(MARK) - 64])
    content[len(content) // 2] ^= 1
    file = tmp_path / "chunk.nc"
    file.write_bytes(content)
    seal(file)
    with pytest.raises(RecordError, match="not a netCDF4 file, or damaged"):
        load(file)


def set_value(name: str, place: tuple[int, ...], number: float) -> Callable[[xr.Dataset], None]:
    def change(ds: xr.Dataset) -> None:
        ds[name].values[place] = number

    return change


def set_attribute(name: str, text: str) -> Callable[[xr.Dataset], None]:
    def change(ds: xr.Dataset) -> None:
        ds.attrs[name] = text

    return change


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (
            set_value("water_content", (7, 3), -50.0),
            r"'water_content' = -50 kg m-3 at time 2001-01-01T07:00, cell 3 \('.*', "
            r".* mm from outside\): must be 0 to 1e\+06 kg m-3",
        ),
        (
            set_value("interface_temperature", (5, 1, 0), 500.0),
            r"'interface_temperature' = 500 K at time 2001-01-01T05.*, interface cladding \| "
            r"gap \| barrier \| sheathing, side outer: must be 180 to 400 K",
        ),
        (set_value("relative_humidity", (0, 0), np.nan), "'relative_humidity' has no value"),
        (set_value("rain_runoff", (9,), np.nan), "'rain_runoff' has no value at time 2001-01-01"),
        (set_value("outdoor_temperature", (3,), 280.0), "the hours or loads are not those"),
        (set_attribute("wall", "{}"), "the wall is not the one that was run"),
        (set_attribute("air_pressure", "null"), "'air_pressure': cannot be read .*damaged"),
        (set_attribute("assumptions", "5"), "'assumptions' and 'air_pressure': cannot be read"),
        (set_attribute("schema", "other"), "not a result of this program"),
    ],
)  # fmt: skip
def test_what_was_changed_is_told_when_it_is_opened(
    record: xr.Dataset, tmp_path: Path, change: Callable[[xr.Dataset], None], words: str
) -> None:
    copy = record.copy(deep=True)
    change(copy)
    with pytest.raises(RecordError, match=words):
        load(written(copy, tmp_path / "changed.nc"))


def test_a_missing_variable_and_wrong_dimensions_are_told(
    record: xr.Dataset, tmp_path: Path
) -> None:
    with pytest.raises(RecordError, match="'heat_flux' is missing; is the file damaged"):
        load(written(record.drop_vars("heat_flux"), tmp_path / "a.nc"))
    flat = record.assign(water_content=record["water_content"].isel(cell=0, drop=True))
    with pytest.raises(RecordError, match=r"'water_content' has dimensions \('time',\)"):
        load(written(flat, tmp_path / "b.nc"))


@pytest.mark.parametrize(
    ("part", "words"),
    [
        (lambda ds: ds[["temperature"]], "variable '.*' is missing"),
        (lambda ds: ds.drop_vars("temperature"), "variable 'temperature' is missing"),
        (lambda ds: ds.drop_vars("time"), "variable 'time' is missing"),
        (lambda ds: ds.isel(time=slice(0, 10)), "the hours or loads are not those that were run"),
        (lambda ds: ds.isel(time=slice(0, 0)), ""),
        (lambda ds: ds.isel(time=3), ""),
        (lambda ds: ds.isel(time=slice(None, None, 24)), ""),
        (lambda ds: ds.mean("time"), ""),
        (lambda _: xr.Dataset({"mine": 1.0}), "not a result of this program"),
    ],
)
def test_a_part_is_not_saved_as_a_record(
    record: xr.Dataset, tmp_path: Path, part: Callable[[xr.Dataset], xr.Dataset], words: str
) -> None:
    """It could not be opened again, and would say of itself that it is damaged."""
    with pytest.raises(RecordError, match=rf"^record: .*({words})") as caught:
        save(part(record), tmp_path / "part.nc")
    assert "xarray.Dataset.to_netcdf parts" in str(caught.value)
    assert "damaged" not in str(caught.value)
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize("way", ["whole", "to a file"])
def test_a_result_out_of_bounds_is_no_record(way: str, tmp_path: Path) -> None:
    # 9 m³/(s·m²) through 2 mm: 1.62e7 1/h, above the bound of 1e7
    wall = frame(Gap("slit", 0.002))
    loads = random_loads(wall, 1, 30)
    loads.gap_rate[:] = 9.0
    more = {"file": tmp_path / "run.nc"} if way == "to a file" else {}
    made = simulate_to_file if more else simulate_loads
    with pytest.raises(RecordError, match=r"'gap_air_change' = 1\.62e\+07 h-1 at .*, gap slit"):
        made(wall, loads, **more)
    assert not (tmp_path / "run.nc").exists()


def test_places_are_selected_by_name(record: xr.Dataset, files: dict[str, Path]) -> None:
    for ds in (record, load(files["saved"]), load(files["streamed"])):
        names = list(ds["layer_name"].values)
        k = names.index("sheathing")
        assert ds.sel(layer="sheathing")["layer_water"].equals(ds["layer_water"].isel(layer=k))
        assert float(ds.sel(layer="sheathing")["layer_thickness"]) == 0.011
        assert ds.sel(gap="gap")["gap_temperature"].equals(ds["gap_temperature"].isel(gap=0))
        face = ds.sel(interface="indoor surface", side="inner")["interface_temperature"]
        assert face.equals(ds["interface_temperature"].isel(interface=-1, side=1))


def test_no_reader_hides_values(record: xr.Dataset, files: dict[str, Path]) -> None:
    for name in VARIABLES:
        if name in record.variables:
            assert not {"valid_range", "valid_min", "valid_max"} & set(record[name].attrs)
    with netCDF4.Dataset(files["saved"]) as opened:
        assert not np.ma.is_masked(opened.variables["rain_absorbed"][1:])


def test_dates_beyond_every_calendar_are_refused(files: dict[str, Path], tmp_path: Path) -> None:
    """Days since a year that no nanosecond reaches are read as objects of another kind."""
    file = tmp_path / "old.nc"
    file.write_bytes(files["saved"].read_bytes())
    with netCDF4.Dataset(file, "a") as opened:
        opened.variables["time"].units = "days since 0001-01-01"
    seal(file)
    with pytest.raises(RecordError, match=r"old\.nc, time: dates beyond 1678 to 2262"):
        load(file)
