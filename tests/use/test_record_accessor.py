"""`record.hygro`: what a record gives of itself, and what is refused."""

from __future__ import annotations

import numpy as np
import pytest
import xarray as xr
from assess_records import OSB, record
from feature_walls import features

from hygro import assess
from hygro.errors import InputError, RecordError
from hygro.record import load, save, simulate_loads
from hygro.solve.settings import Settings

SETTINGS = Settings(accuracy="draft", tolerance=5.0)


@pytest.fixture(scope="module")
def run():
    wall, loads = features()["rain leak"]
    return wall, simulate_loads(wall, loads, settings=SETTINGS)


def test_series_are_those_of_the_ratings_with_unit_and_name() -> None:
    ds = record(water=np.tile(np.arange(16.0) * 10.0, (961, 1)), hours=960)
    content = ds.hygro.moisture_content("osb")
    # cells 4 to 7 hold 40, 50, 60 and 70 kg/m³: 55 of 600 kg/m³
    assert content.values == pytest.approx(np.full(961, 55.0 / OSB.density))
    assert content.attrs["units"] == "1"
    assert float(ds.hygro.moisture_content("osb", ("outer", 0.003))[0]) == pytest.approx(40 / 600)


def test_faces_are_told_apart() -> None:
    humid = np.full((5, 2), 0.5)
    humid[2, 0] = 0.97  # between osb and wool, on the side of the osb
    ds = record(hours=24 * 80, face_rh=humid)
    assert float(ds.hygro.relative_humidity("osb", "inner")[5]) == pytest.approx(0.97)
    assert float(ds.hygro.relative_humidity("osb", "outer")[5]) == pytest.approx(0.5)
    assert float(ds.hygro.temperature("osb")[5]) == pytest.approx(293.15)
    inner, outer = (ds.hygro.mould_index("osb", face=face) for face in ("inner", "outer"))
    assert float(inner.max()) > 1.0
    assert float(outer.max()) == 0.0


def test_condensate_is_that_beyond_sorption() -> None:
    water = np.full((961, 16), 1.0)
    water[500:, 8] = 13.5
    found = record(water=water).hygro.condensate("osb")
    # 1 kg/m³ of the wool is sorbed: 10 mm hold 12.5 more
    assert float(found.max()) == pytest.approx(0.010 * 12.5)


def test_a_record_carries_its_wall_settings_and_closure(run, tmp_path) -> None:
    wall, fresh = run
    again = load(save(fresh, tmp_path / "run.nc"))
    for ds in (fresh, again):
        assert ds.hygro.wall == wall
        assert ds.hygro.settings == SETTINGS
        assert ds.hygro.layers == ("cladding", "sheathing", "wool", "board")
        assert set(ds.hygro.closure) == {"energy", "moisture"}
        assert max(ds.hygro.closure.values()) < 1e-6  # above it a record is refused


def test_verdict_and_summary_are_those_of_the_functions(run) -> None:
    _, ds = run
    assert ds.hygro.verdict(skip_days=1) == assess.verdict(ds, skip_days=1)
    assert ds.hygro.summary() == assess.summary(ds)


def test_a_record_draws_itself(run) -> None:
    wall, ds = run
    figure = ds.hygro.plot.time_series()
    titles = [axes.get_title(loc="left") for axes in figure.axes]
    assert len(titles) == 3
    assert "Moisture content" in titles[0]
    (line,) = [x for x in figure.axes[0].lines if len(x.get_xdata()) > 2]
    means = ds.hygro.moisture_content("sheathing").values[1:].reshape(-1, 24).mean(axis=1)
    assert line.get_ydata() == pytest.approx(100.0 * means)
    board = ds.hygro.plot.time_series("board")
    assert len(board.axes) == 2  # gypsum: no moisture content by mass
    assert wall.name in [text.get_text() for text in ds.hygro.plot.section().texts]


def test_what_is_no_record_is_refused() -> None:
    with pytest.raises(RecordError, match=r"\.hygro: this Dataset is no record.*dimensions"):
        _ = xr.Dataset({"temperature": ("time", [1.0, 2.0])}).hygro


def test_lost_attributes_are_named(run) -> None:
    _, ds = run
    bare = ds.drop_attrs() if hasattr(ds, "drop_attrs") else ds.assign_attrs()
    bare.attrs.clear()
    for name in ("wall", "settings", "closure"):
        with pytest.raises(RecordError, match=f"'{name}.*' is missing"):
            getattr(bare.hygro, name)


def test_a_face_without_a_mould_index_is_told() -> None:
    with pytest.raises(InputError, match="'cladding, outer face': not rated"):
        record().hygro.mould_index("cladding", "outer")
    with pytest.raises(InputError, match="did you mean 'osb'"):
        record().hygro.mould_index("osbb")
