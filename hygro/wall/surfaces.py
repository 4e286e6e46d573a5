"""The two surfaces of a wall: transfer, radiation and driving rain. Owns the declarations."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from hygro.declare import declared
from hygro.fields import Absorptance, Albedo, Emissivity, Flag, Transmittance, VapourCoefficient
from hygro.wall.rain import RainFactors

RainMethod = Literal["ashrae160", "iso15927", "none"]


@declared
class Outside:
    """Outdoor surface: convection, radiation and rain.

    Parameters
    ----------
    convection : float, optional
        Convective coefficient [W/(m²·K)]; left out: 4 + 4·v with the wind speed v at the wall, see
        `Site` (ISO 6946:2017 annex, from memory).
    vapour_coefficient : float, optional
        [kg/(m²·s·Pa)]; left out: 7e-9 times the convective coefficient (Lewis relation, EN 15026).
    absorptance : float
        Of solar radiation. [1]
    emissivity : float
        Longwave. [1] 0 switches the explicit longwave exchange off.
    albedo : float
        Of the ground. [1] 0.2: common practice.
    rain : {"ashrae160", "iso15927", "none"}
        How driving rain is computed; "none": no driving rain.
    rain_factors : RainFactors
        From free driving rain to the wall.
    imposed : bool
        The loads are the state of the surface itself (no transfer resistances).
    """

    convection: Transmittance | None = None
    vapour_coefficient: VapourCoefficient | None = None
    absorptance: Absorptance = 0.6
    emissivity: Emissivity = 0.9
    albedo: Albedo = 0.2
    rain: RainMethod = "ashrae160"
    rain_factors: RainFactors = RainFactors()
    imposed: Flag = False

    def __post_init__(self) -> None:
        """Refuse factors of another method."""
        self.rain_factors.of(self.rain)

    @property
    def rain_method(self) -> Literal["ashrae160", "iso15927"] | None:
        """The method of driving rain, None for none."""
        return None if self.rain == "none" else self.rain


@declared
class Inside:
    """Indoor surface: combined heat transfer coefficient and vapour transfer.

    Parameters
    ----------
    coefficient : float
        7.69 W/(m²·K) is 1/0.13 (ISO 6946, horizontal heat flow).
    vapour_coefficient : float, optional
        [kg/(m²·s·Pa)]; left out: 7e-9 times the convective part 2.5 W/(m²·K) (ISO 6946 convective
        part; Lewis relation).
    imposed : bool
        The loads are the state of the surface itself (no transfer resistances).
    """

    coefficient: Annotated[Transmittance, Field(gt=0)] = 1 / 0.13
    vapour_coefficient: VapourCoefficient | None = None
    imposed: Flag = False
