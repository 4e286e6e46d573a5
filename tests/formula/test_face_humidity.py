"""Humidity at faces against saturation pressures of a table: 2337 Pa at 20 °C, 401.8 Pa at -5 °C
over ice (steam tables, from memory).
"""

from __future__ import annotations

import numpy as np
import pytest

from hygro.record.humidity import humidity
from weather.moistair import saturation_pressure


# 3 in 1000: what the Magnus form may be off the steam tables
def test_half_of_saturation_over_water_and_over_ice() -> None:
    temperature = np.array([[293.15, 268.15], [273.15, 268.15]])
    pressure = np.array([[1168.5, 200.9], [611.2, 401.8]])
    assert humidity(temperature, pressure) == pytest.approx(
        np.array([[0.5, 0.5], [1.0, 1.0]]), rel=3e-3
    )


def test_arrays_of_any_order_and_numbers_that_are_missing() -> None:
    temperature = np.linspace(243.0, 323.0, 24).reshape(4, 3, 2)
    pressure = np.full((2, 3, 4), 500.0).T
    pressure[1, 1, 1] = np.nan
    found = humidity(temperature, pressure)
    assert np.isnan(found[1, 1, 1])
    assert np.isnan(found).sum() == 1
    # the same formula through numpy: what is seen here is the order of elements; 1e-14 is round-off
    wanted = pressure / saturation_pressure(temperature, over="iso13788")
    assert found == pytest.approx(wanted, rel=1e-14, nan_ok=True)
