"""What holds for every shipped material: bounds, monotone curves, exact copies."""

from __future__ import annotations

import json
import pickle
import re
import subprocess
import sys
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hygro.constants import STILL_AIR_PERMEABILITY
from hygro.declare import plain
from hygro.material import Material, SheetMaterial, fingerprint, from_dict
from hygro.material.check import check
from hygro.material.describe import columns, details, rows
from hygro.material.library import library

ALL = list(library().values())
LAYERS = [m for m in ALL if isinstance(m, Material)]
SHEETS = [m for m in ALL if isinstance(m, SheetMaterial)]
by_key = pytest.mark.parametrize("m", ALL, ids=lambda m: m.key)
by_layer = pytest.mark.parametrize("m", LAYERS, ids=lambda m: m.key)

suction = st.floats(min_value=-12.0, max_value=np.log10(30.0)).map(lambda x: 10.0**x)


@by_key
def test_every_shipped_material_passes_its_own_check(m):
    assert check(m) is m


@given(m=st.sampled_from(LAYERS), s1=suction, s2=suction)
@settings(max_examples=400, deadline=None)
def test_water_content_never_rises_with_suction(m, s1, s2):
    drier, wetter = m.storage.water_content([max(s1, s2), min(s1, s2)])
    # 1e-12 of w_free: rounding of the cubic at neighbouring arguments
    assert drier <= wetter + 1e-12 * m.w_free
    assert drier >= 0.0
    assert wetter <= m.w_free * (1 + 1e-12) <= m.w_max * (1 + 1e-9)


@given(m=st.sampled_from(LAYERS), rh=st.floats(0.01, 0.98))
@settings(max_examples=300, deadline=None)
def test_storage_rises_strictly_with_humidity(m, rh):
    assert float(m.water_content(rh + 0.01)) > float(m.water_content(rh))


@given(m=st.sampled_from(LAYERS), s=suction)
@settings(max_examples=300, deadline=None)
def test_storage_is_continuous(m, s):
    near, far = m.storage.water_content([s * (1 - 1e-9), s * (1 + 1e-9)])
    # the steepest curve has d ln w / d ln s of about 6: 2e-9 · 6 of w_free
    assert abs(near - far) <= 2e-8 * m.w_free


@given(m=st.sampled_from(LAYERS), rh=st.floats(0.0, 0.999))
@settings(max_examples=300, deadline=None)
def test_permeability_is_positive_and_below_still_air(m, rh):
    delta = float(m.vapour.permeability(rh))
    assert 0.0 < delta <= 1.001 * STILL_AIR_PERMEABILITY  # rounding of given values


@given(m=st.sampled_from(SHEETS), a=st.floats(0.0, 1.0), b=st.floats(0.0, 1.0))
@settings(max_examples=200, deadline=None)
def test_sheets_open_when_humid_or_stay(m, a, b):
    dry, wet = m.permeance.permeance([min(a, b), max(a, b)])
    assert 0.0 < dry <= wet * (1 + 1e-12)  # rounding


@by_layer
def test_suction_and_humidity_read_the_same_storage(m):
    rh = np.array([0.3, 0.8, 0.99])
    p_suc = -1000.0 * 461.5 * 293.15 * np.log(rh)  # Kelvin relation at 20 °C
    # 1e-9: two orders of the same product, through curves with a log-slope of up to 6
    np.testing.assert_allclose(m.water_content_at_suction(p_suc), m.water_content(rh), rtol=1e-9)


@by_layer
def test_curves_take_arrays_of_any_shape_and_scalars(m):
    grid = np.full((2, 3), 0.5)
    assert m.water_content(grid).shape == (2, 3)
    assert m.vapour.permeability(grid).shape == (2, 3)
    assert m.thermal.conductivity(grid).shape == (2, 3)
    # vector and scalar powers may differ in the last bit
    assert float(m.water_content(0.5)) == pytest.approx(m.water_content(grid)[0, 0], rel=1e-14)


@by_layer
def test_wet_material_does_not_conduct_less_heat(m):
    k = m.thermal.conductivity(np.linspace(0.0, m.w_max, 20))
    assert np.all(np.diff(k) >= 0)


@by_layer
def test_dry_extremes_are_finite(m):
    assert np.all(np.isfinite(m.water_content([0.0, 1.0])))
    assert float(m.water_content(0.0)) == pytest.approx(0.0, abs=1e-12)


@by_key
def test_plain_data_and_pickle_give_equal_copies(m):
    through_json = json.loads(json.dumps(plain(m)))
    for copy in (from_dict(through_json), pickle.loads(pickle.dumps(m))):
        assert copy == m
        assert fingerprint(copy) == fingerprint(m)
        assert hash(copy) == hash(m)


@by_key
def test_fingerprint_changes_with_any_value(m):
    assert re.fullmatch(r"[0-9a-f]{64}", fingerprint(m))
    assert fingerprint(replace(m, name=m.name + " x")) != fingerprint(m)
    data = plain(m)
    if isinstance(m, Material):
        data["density"] += 1e-9
    else:
        data["thermal_resistance"] += 1e-9
    assert fingerprint(from_dict(data)) != fingerprint(m)


@by_key
def test_fingerprint_does_not_depend_on_the_order_of_keys(m):
    data = plain(m)
    backwards = dict(reversed(data.items()))
    backwards["sources"] = dict(reversed(data["sources"].items()))
    assert fingerprint(from_dict(backwards)) == fingerprint(m)


def test_no_two_shipped_materials_are_the_same():
    assert len({fingerprint(m) for m in ALL}) == len(ALL)


def test_fingerprint_is_the_same_in_another_process():
    code = (
        "from hygro.material.library import get; from hygro.material import fingerprint;"
        "print(fingerprint(get('osb')))"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert out.stdout.strip() == fingerprint(library()["osb"])


def test_importing_and_reading_the_library_loads_no_heavy_package():
    code = (
        "import sys; from hygro.material.library import library; library();"
        "print([p for p in ('scipy', 'pandas', 'xarray', 'numba') if p in sys.modules])"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert out.stdout.strip() == "[]"


@pytest.mark.parametrize("units", ["si", "ip"])
def test_every_row_fills_every_column_with_a_number_or_nothing(units):
    keys = [c.key for c in columns(units)]
    for row in rows(units):
        assert list(row) == keys
        assert all(v is None or isinstance(v, str) or np.isfinite(v) for v in row.values())


@by_key
def test_every_line_of_a_data_sheet_names_its_source(m):
    lines = details(m.key)
    assert len(lines) >= 5
    assert all(line.source and line.source != "not stated" for line in lines)


def test_rows_in_both_unit_families_describe_the_same_material():
    si = {row["key"]: row for row in rows("si")}["xps"]
    ip = {row["key"]: row for row in rows("ip")}["xps"]
    assert ip["permeability_dry"] == pytest.approx(1.1)  # perm·in, as given in the data
    assert si["permeability_dry"] == pytest.approx(1.1 * 57.2 * 0.0254)  # ng/(m·s·Pa)
    assert ip["density"] == pytest.approx(35.0 / 16.018, rel=1e-4)  # factor rounded
    # Btu·in/(h·ft²·°F) is 0.1442279 W/(m·K)
    assert ip["conductivity"] == pytest.approx(si["conductivity"] / 0.1442279, rel=1e-6)
