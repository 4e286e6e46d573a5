"""The kernels keep their own constants; they are those of the package."""

from __future__ import annotations

import pytest

from hygro import constants
from hygro.solve import kernels


@pytest.mark.parametrize(
    ("kernel", "package"),
    [
        ("T0", "ZERO_CELSIUS"),
        ("T_REF", "REFERENCE_TEMPERATURE"),
        ("R_V", "GAS_CONSTANT_VAPOUR"),
        ("C_W", "HEAT_CAPACITY_WATER"),
        ("C_ICE", "HEAT_CAPACITY_ICE"),
        ("C_VAP", "HEAT_CAPACITY_VAPOUR"),
        ("C_AIR", "HEAT_CAPACITY_AIR"),
        ("L_V", "HEAT_OF_EVAPORATION"),
        ("L_F", "HEAT_OF_FUSION"),
    ],
)
def test_kernel_constants_are_those_of_the_package(kernel: str, package: str) -> None:
    assert getattr(kernels, kernel) == getattr(constants, package)
