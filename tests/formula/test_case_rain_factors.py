"""Names of driving-rain factors in a case become the printed factors.

ISO 15927-3 and ASHRAE 160 tables, from memory; roughness computed from the printed formula.
"""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from case_files import write_case

from hygro.case import load
from weather.rain import AshraeFactors, IsoFactors


@pytest.mark.parametrize(
    ("table", "factors"),
    [
        ("rain_factors = {}", {}),
        (
            "rain_factors = { exposure = 1.2, deposition = 0.35 }",
            {"exposure": 1.2, "deposition": 0.35},
        ),
        (
            'rain_factors = { exposure = "severe", height = "18 m", deposition = "run-off" }',
            {"exposure": 1.4, "deposition": 1.0},
        ),
        (
            'rain_factors = { exposure = "sheltered", height = 8, deposition = 0.5 }',
            {"exposure": 0.7, "deposition": 0.5},
        ),
        (
            'rain = "iso15927", rain_factors = { terrain = "III", height = 10, '
            'wall = "two-storey eaves", obstacle_distance = 20 }',
            {"roughness": 0.22 * math.log(10 / 0.3), "wall": 0.3, "obstruction": 0.4},
        ),
        ('rain = "iso15927", rain_factors = { topography = 1.2 }', {"topography": 1.2}),
    ],
)
def test_names_and_numbers_become_factors(
    tmp_path: Path, table: str, factors: dict[str, float]
) -> None:
    change = ('azimuth = "N"', f'azimuth = "N"\noutside = {{ {table} }}')
    outside = load(write_case(tmp_path, change, hours=24)).walls[0].wall.outside
    found = outside.rain_factors.of(outside.rain)
    kind = IsoFactors if outside.rain == "iso15927" else AshraeFactors
    wanted = kind(**factors)._asdict() if factors else {}
    assert (found._asdict() if found else {}) == pytest.approx(wanted, rel=1e-12)  # round-off


def test_the_factors_scale_the_rain_on_the_wall(tmp_path: Path) -> None:
    from hygro.case import prepare
    from hygro.wall.loads import build_loads

    total = []
    for exposure in ("0.5", "1.5"):
        table = f"outside = {{ rain_factors = {{ exposure = {exposure} }} }}"
        path = write_case(tmp_path, ('azimuth = "N"', f'azimuth = "N"\n{table}'))
        case, climate = prepare(load(path))
        total.append(
            build_loads(case.walls[0].wall, climate, case.walls[0].room).mean[:, 0, 1].sum()
        )
    assert total[0] > 0
    assert total[1] == pytest.approx(3 * total[0], rel=1e-12)  # proportional by definition
