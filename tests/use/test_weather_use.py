"""The package as a user meets it: light to import, few lines from file to wall."""

from __future__ import annotations

import importlib.util
import subprocess
import sys
from pathlib import Path

import numpy as np

import weather


def test_import_is_light() -> None:
    code = (
        "import numpy, xarray, sys, time; t = time.perf_counter(); import weather; "
        "print(time.perf_counter() - t, 'pvlib' in sys.modules, 'scipy' in sys.modules)"
    )
    root = Path(weather.__file__).parents[1]
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=root
    )
    seconds, pvlib, scipy = done.stdout.split()
    assert (pvlib, scipy) == ("False", "False")
    # Half a second is the promise; it takes some hundredths.
    assert float(seconds) < 0.5


def test_package_imports_nothing_of_the_engine() -> None:
    folder = Path(weather.__file__).parent
    for path in folder.glob("*.py"):
        text = path.read_text(encoding="utf-8")
        assert "hygro" not in text, path.name


def test_from_file_to_wall_loads_in_a_few_lines() -> None:
    spec = importlib.util.find_spec("pvlib")
    assert spec is not None
    assert spec.origin is not None
    greensboro = weather.read(Path(spec.origin).parent / "data" / "723170TYA.CSV")
    greensboro = weather.rescale(greensboro, "precipitation", 0.1, reason="tenths of mm")
    wall = weather.plane_loads(greensboro, azimuth=180.0)
    assert set(wall) >= {"solar", "longwave_in", "driving_rain"}
    assert wall.sizes["time"] == 8760
    assert not any(np.isnan(values).any() for values in wall.values())
    # A south wall at 36° N gets 80–160 W/m² in the mean (common range, no source).
    assert 80.0 < float(wall["solar"].mean()) < 160.0
    assert any("tenths of mm" in line for line in weather.history(wall))


def test_global_radiation_alone_is_split_and_recorded() -> None:
    spec = importlib.util.find_spec("pvlib")
    assert spec is not None
    assert spec.origin is not None
    miami = weather.read(Path(spec.origin).parent / "data" / "12839.tm2")
    split = weather.split_global(miami.drop_vars(["direct_normal", "diffuse_horizontal"]))
    # Erbs' correlation meets the diffuse share of a station within about 15 % (its scatter).
    assert float(split["diffuse_horizontal"].mean()) > 0.0
    ratio = float(split["diffuse_horizontal"].sum() / miami["diffuse_horizontal"].sum())
    assert 0.85 < ratio < 1.15
    assert "Erbs" in weather.history(split)[-1]
