"""The engine against a second model of the same walls in the same weather, written apart from it.

The model (the files beside this one) has its own reader of weather, loads, curves, grid, unknowns
and integrator; `test_the_model_imports_nothing_of_the_engine` holds it to that. What both have in
common is the physics of `docs/`, the material tables and the weather file.
"""

from __future__ import annotations

import ast
import importlib.util
from functools import cache
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pytest
from independent import walls as data
from independent.layout import AIR_FILM, TOUCHING, contents
from independent.march import Course, go, mean
from independent.sky import loads, read
from independent.walls import FROST, WALLS

import weather
from hygro.material.library import get
from hygro.room.models import Constant
from hygro.solve.march import run
from hygro.solve.settings import Settings
from hygro.solve.setup import Run
from hygro.wall.elements import Gap, Initial, Layer, Membrane
from hygro.wall.leaks import AirLeak, RainLeak
from hygro.wall.loads import Loads, build_loads, loads_between
from hygro.wall.surfaces import Outside
from hygro.wall.wall import Wall
from weather.series import repeat_years

RMS_T, RMS_MC, PEAK = 0.05, 0.1, 0.1
"""Largest distance of the engine on a fine grid from the model: r.m.s. of temperature [K] and
moisture content, highest hour and 30 days of it [% by mass]. A fifth of what the best sensors
resolve in boards; the default grid has to keep the first two as well."""
CAPILLARY = 0.01
"""R.m.s. of the moisture content of brick on the fine grid [% by mass]: 0.0002 is reached, and
liquid that moves a tenth faster is 0.056 away."""
THAWED = 0.45
"""What a board that thawing frost lies on may be away [% by mass]: 0.39, see the page in docs."""
FINE = Settings(parts=8, tolerance=0.2)
MONTH, YEAR = 720, 8760


class Pair(NamedTuple):
    """The same hours by the model and by the engine, layer by layer: T [K], MC [% by mass]."""

    wall: data.Wall
    model: Course
    loads: Loads
    own: Wall

    def layers(self) -> list[str]:
        """Names of the layers."""
        return [layer.name for layer in self.own.solids]

    def of_model(self, k: int) -> tuple[np.ndarray, np.ndarray]:
        """Mean of layer k by the model."""
        nodes = self.model.nodes
        return mean(nodes, self.model.T, k), contents(nodes, self.model.w, k)

    def of_engine(self, got: Run, k: int) -> tuple[np.ndarray, np.ndarray]:
        """Mean of layer k in a run of the engine."""
        cells = got.grid.layer == k
        share = got.grid.thickness[cells] / got.grid.thickness[cells].sum()
        per = 100.0 / self.own.solids[k].material.density
        return got.T[:, cells] @ share, per * (got.w[:, cells] @ share)


def _folder() -> Path:
    spec = importlib.util.find_spec("diyepw")
    if spec is None or not spec.submodule_search_locations:
        pytest.skip("diyepw is not installed: pip install --no-deps diyepw")
    return Path(spec.submodule_search_locations[0]) / "data" / "tmy_epw_files"


def _element(part: data.Layer | data.Sheet | data.Gap) -> Layer | Membrane | Gap:
    if isinstance(part, data.Gap):
        return Gap(part.name, part.depth, part.air_change)
    if isinstance(part, data.Sheet):
        return Membrane(get(part.key), name=part.key)
    start = Initial(rh=part.rh) if part.content is None else Initial(moisture_content=part.content)
    return Layer(get(part.material), part.thickness, name=part.name, initial=start)


def _wall(wall: data.Wall) -> Wall:
    """The wall for the engine."""
    leaks: list[RainLeak | AirLeak] = []
    if wall.rain_share:
        leaks.append(RainLeak(wall.leaks_at, wall.rain_share))
    if wall.air_rate:
        leaks.append(AirLeak(wall.leaks_at, rate=wall.air_rate))
    rain = "ashrae160" if wall.rains else "none"
    return Wall(
        "twice computed", tuple(_element(part) for part in wall.parts), azimuth=wall.azimuth,
        leaks=leaks, outside=Outside(absorptance=wall.absorptance, rain=rain),
    )  # fmt: skip


@cache
def _pair(wall: data.Wall, rtol: float = 1e-5, contact: tuple[float, float] = TOUCHING) -> Pair:
    folder, own = _folder(), _wall(wall)
    model = go(wall, folder, rtol=rtol, contact=contact)
    return Pair(wall, model, _loads(wall, own, folder / wall.place), own)


def _loads(wall: data.Wall, own: Wall, file: Path) -> Loads:
    """Loads by the engine."""
    whole = build_loads(own, repeat_years(weather.read(file), 2), Constant(*wall.room))
    return loads_between(whole, wall.first, wall.first + wall.hours)


def _rms(difference: np.ndarray) -> float:
    return float(np.sqrt(np.mean(difference**2)))


def _thirty_days(values: np.ndarray) -> float:
    """Highest mean of 30 days."""
    return float(np.convolve(values, np.full(MONTH, 1.0 / MONTH), "valid").max())


def _compare(pair: Pair) -> None:
    """Hold the engine to the model: every layer's temperature, the water of what is watched."""
    fine, default = run(pair.own, pair.loads, FINE), run(pair.own, pair.loads)
    for k, name in enumerate(pair.layers()):
        T, mc = pair.of_model(k)
        T_fine, mc_fine = pair.of_engine(fine, k)
        T_default, mc_default = pair.of_engine(default, k)
        assert _rms(T_fine - T) <= RMS_T, name
        assert _rms(T_default - T) <= RMS_T, name
        if name in (pair.wall.watch, "cladding"):
            assert _rms(mc_fine - mc) <= (CAPILLARY if name == "brick" else RMS_MC), name
            assert _rms(mc_default - mc) <= RMS_MC, name
            assert abs(mc_fine.max() - mc.max()) <= PEAK, name
            assert abs(_thirty_days(mc_fine) - _thirty_days(mc)) <= PEAK, name


@pytest.mark.parametrize("name", WALLS)
def test_the_engine_agrees_with_the_model(name: str) -> None:
    _compare(_pair(WALLS[name]))


@pytest.mark.slow
@pytest.mark.parametrize("name", WALLS)
def test_the_engine_agrees_with_the_model_over_a_year(name: str) -> None:
    """In a winter that freezes and thaws, what a film gives to a board asks for a tighter
    integration.
    """
    tight = name == "vented cladding with leaks"
    _compare(_pair(WALLS[name]._replace(hours=YEAR), rtol=1e-6 if tight else 1e-5))


@pytest.mark.parametrize("name", WALLS)
def test_loads_are_those_of_the_model(name: str) -> None:
    """Sun, longwave, rain and films from the file, hour by hour, to round-off."""
    wall = WALLS[name]._replace(first=0, hours=YEAR)
    file = _folder() / wall.place
    theirs = loads(read(file), wall.azimuth, first=0, hours=YEAR, rains=wall.rains)
    ours = _loads(wall, _wall(wall), file)
    sun, longwave, rain = theirs.mean.T
    absorbed = wall.absorptance * sun + 0.9 * longwave
    assert ours.pressure == pytest.approx(theirs.pressure)
    np.testing.assert_allclose(ours.outside.temperature, theirs.instant[:, 0])
    np.testing.assert_allclose(ours.outside.vapour_pressure, theirs.instant[:, 1])
    np.testing.assert_allclose(ours.outside.heat_coefficient, 4.0 + 4.0 * theirs.instant[:, 2])
    # the first hour of the year begins at its own end for air, at the end of the year for longwave
    np.testing.assert_allclose(ours.outside.radiation, absorbed, atol=1e-6)
    np.testing.assert_allclose(ours.outside.rain, rain, atol=1e-12)
    assert (rain.max() > 0.0) == wall.rains


@pytest.mark.parametrize(("contact", "bound"), [(AIR_FILM, PEAK), (TOUCHING, THAWED)])
def test_what_thawing_frost_gives_to_the_sheathing_is_that_of_the_model(
    contact: tuple[float, float], bound: float
) -> None:
    """Both have the film on the face of the sheathing, which sucks it in when it thaws."""
    pair = _pair(FROST, rtol=1e-6, contact=contact)
    k, thaw, after = pair.layers().index("osb"), 1248, 1350
    _, mc = pair.of_model(k)
    away = []
    for parts in (1, 4):
        _, ours = pair.of_engine(run(pair.own, pair.loads, Settings(parts=parts, tolerance=0.2)), k)
        assert _rms((ours - mc)[:thaw]) <= RMS_MC
        away.append(mc[after] - ours[after])
    # 0.04 % by mass and 0.39 %; with the film in the middle of the first cell of the wool 1.1 %
    assert max(map(abs, away)) <= bound


def test_a_finer_model_says_the_same() -> None:
    """The model's own error has to be far below the bounds that it sets."""
    wall = WALLS["all insulation outboard"]._replace(hours=240)
    folder = _folder()
    usual, finer = go(wall, folder), go(wall, folder, rtol=1e-6, fine=0.5)
    for k in range(4):
        difference = mean(usual.nodes, usual.T, k) - mean(finer.nodes, finer.T, k)
        assert _rms(difference) < 0.2 * RMS_T
    a, b = contents(usual.nodes, usual.w, 2), contents(finer.nodes, finer.w, 2)
    assert _rms(a - b) < 0.2 * RMS_MC


def test_the_model_imports_nothing_of_the_engine() -> None:
    for file in Path(__file__).parent.glob("*.py"):
        if file == Path(__file__):
            continue
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            found = [node.module or ""] if isinstance(node, ast.ImportFrom) else []
            if isinstance(node, ast.Import):
                found = [alias.name for alias in node.names]
            for name in found:
                assert name.split(".")[0] not in ("hygro", "weather", "benchmarks"), file.name
