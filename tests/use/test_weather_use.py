"""The package as a user meets it: light to import, few lines from file to wall."""

from __future__ import annotations

import ast
import importlib.util
import subprocess
import sys
import tomllib
from pathlib import Path

import numpy as np
import pytest

import weather

ROOT = Path(weather.__file__).parents[1]


def test_import_brings_nothing_in_before_it_is_used() -> None:
    code = (
        "import sys; import weather; import weather.constants, weather.errors; "
        "print([n for n in ('numpy', 'xarray', 'pandas', 'pvlib', 'typing') if n in sys.modules])"
    )
    done = subprocess.run(
        [sys.executable, "-S", "-c", code], capture_output=True, text=True, check=True, cwd=ROOT
    )
    assert done.stdout.strip() == "[]"


def test_every_public_name_is_there_and_told_to_type_checkers() -> None:
    names = [name for name in dir(weather) if name in weather.__all__]
    assert sorted(weather.__all__) == names
    assert all(getattr(weather, name) is not None for name in names)
    tree = ast.parse(Path(weather.__file__).read_text(encoding="utf-8"))
    imports = [node for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)]
    told = {
        alias.asname: node.module.removeprefix("weather.")
        for node in imports
        for alias in node.names
        if node.module is not None and alias.asname is not None
    }
    assert told == weather._MODULE
    with pytest.raises(AttributeError, match="no attribute 'raed'"):
        _ = weather.raed


def test_package_is_typed_and_has_the_version_of_its_distribution() -> None:
    assert (Path(weather.__file__).parent / "py.typed").is_file()
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    assert weather.__version__ == project["project"]["version"]


def test_one_except_catches_the_errors_of_both_packages() -> None:
    from hygro.errors import HygroError

    with pytest.raises(HygroError, match="no such file"):
        weather.read("nowhere.epw")


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
