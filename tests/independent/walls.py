"""The four walls as plain data, read by the independent model and, in the test, by the engine."""

from __future__ import annotations

from typing import NamedTuple


class Layer(NamedTuple):
    """Name, key of the material, thickness [m], water at the start: rh [1] or [kg/kg]."""

    name: str
    material: str
    thickness: float
    rh: float = 0.8
    content: float | None = None


class Sheet(NamedTuple):
    """A sheet by the key of its material."""

    key: str


class Gap(NamedTuple):
    """Name, depth [m] and air changes [1/h]."""

    name: str
    depth: float
    air_change: float


class Wall(NamedTuple):
    """A wall in its weather, outside to inside.

    Attributes
    ----------
    parts : layers, sheets and gaps
    watch : the layer whose moisture is compared
    place : file of a typical year
    azimuth : of the outward normal [degree]
    absorptance : of sun at the surface [1]
    rains : whether rain strikes the wall
    leaks_at : layer that leaks reach: rain its outer, room air its inner millimetre
    rain_share, air_rate : share of the driving rain [1], flow of room air [m³/(s·m²)]
    room : temperature [K] and relative humidity [1]
    first, hours : hour of the year from which the run goes, and how long
    """

    parts: tuple[Layer | Sheet | Gap, ...]
    watch: str
    place: str
    azimuth: float
    first: int
    hours: int
    absorptance: float = 0.6
    rains: bool = True
    leaks_at: str = ""
    rain_share: float = 0.0
    air_rate: float = 0.0
    room: tuple[float, float] = (294.15, 0.45)


CHICAGO = "USA_IL_Chicago.OHare.Intl.AP.725300_TMY3.epw"
NORTHWAY = "USA_AK_Northway.AP.702910_TMY3.epw"
CLADDING = (Layer("cladding", "fibre-cement", 0.008), Gap("vented gap", 0.019, 100.0))
BOARD = (Layer("gypsum", "gypsum-board", 0.0125), Sheet("latex-paint"))
WOOL = Layer("cavity", "glass-wool-batt", 0.14)
WET = Layer("osb", "osb", 0.011, content=0.25)
SEPTEMBER, NOVEMBER, APRIL = 5832, 7296, 2160
"""Hours from 1 January to the first of the month."""

WALLS = {
    "vented cladding with leaks": Wall(
        (*CLADDING, Sheet("membrane-35-perm"), Layer("osb", "osb", 0.011), WOOL, *BOARD),
        "osb", CHICAGO, 180.0, SEPTEMBER, 3600,
        leaks_at="osb", rain_share=0.01, air_rate=2e-5,
    ),
    "brick in rain and sun": Wall(
        (
            Layer("brick", "clay-brick-absorbent", 0.09),
            Layer("wool", "mineral-wool-board", 0.08),
            Layer("plaster", "gypsum-plaster", 0.015),
        ),
        "brick", CHICAGO, 180.0, APRIL, 2160, absorptance=0.7,
    ),
    "all insulation outboard": Wall(
        (
            *CLADDING,
            Layer("outboard", "mineral-wool-board", 0.14),
            Sheet("membrane-35-perm"),
            WET,
            Gap("empty cavity", 0.09, 0.0),
            *BOARD,
        ),
        "osb", CHICAGO, 180.0, NOVEMBER, 2160, leaks_at="osb", rain_share=0.01,
    ),
    "cold, with ice": Wall(
        (*CLADDING, Sheet("membrane-35-perm"), WET, WOOL, Sheet("polyethylene-150um"), *BOARD),
        "osb", NORTHWAY, 0.0, 0, 2880, rains=False, room=(294.15, 0.40),
    ),
}  # fmt: skip
FROST = Wall(
    (*CLADDING, Sheet("membrane-35-perm"), WET, WOOL, *BOARD),
    "osb", NORTHWAY, 0.0, NOVEMBER, 1400, rains=False, room=(294.15, 0.40),
)  # fmt: skip
"""1.1 kg/m² of frost in the wool, on the sheathing, that thaws after 1250 h."""
