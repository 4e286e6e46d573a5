"""Thermal bridges of an insulation layer by hand formulas: joints, fasteners, clips, girts, studs.

Owns effective resistances (temperatures at a shank are in `shank`); knows nothing of
moisture or of the march.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, NamedTuple

import numpy as np

from hygro.data_files import table
from hygro.errors import InputError
from hygro.quantities import R_IP
from hygro.types import Data

AIR_CONDUCTIVITY = 0.025
"""Still air, as ISO 6946 uses it (from memory). [W/(m·K)]"""
RADIATIVE_BLACK = 5.1
"""4·σ·T³ at 10 °C, ISO 6946 annex (from memory). [W/(m²·K)]"""


def _positive(place: str, **values: float) -> None:
    for key, value in values.items():
        if not (np.isfinite(value) and value > 0.0):
            raise InputError(f"{place}: {key} = {value}: must be above 0 and finite, in SI units")


def slot_resistance(*, depth: float, width: float, emissivity: float = 0.9) -> float:
    """Resistance of a closed air slot, horizontal heat flow. [m²·K/W]

    ISO 6946:2017 annex D, small or divided air spaces (from memory):
    R = 1/(h_a + ½·E·h_r0·(1 + √(1 + d²/b²) − d/b)), h_a = max(1.25, 0.025/d), E between two faces
    of the emissivity. Valid for width < 10·depth and closed ends; air that streams through a joint
    is not in it.

    Parameters
    ----------
    depth : float
        Along the heat flow, d: the board thickness. [m]
    width : float
        Across it, b: the joint width. [m]
    emissivity : float
        0.9 for building surfaces (common practice). [-]
    """
    _positive("slot", depth=depth, width=width, emissivity=emissivity)
    h_a = max(1.25, AIR_CONDUCTIVITY / depth)
    exchange = 1.0 / (2.0 / emissivity - 1.0)
    ratio = depth / width
    h_r = 0.5 * exchange * RADIATIVE_BLACK * (1.0 + np.hypot(1.0, ratio) - ratio)
    return float(1.0 / (h_a + h_r))


@dataclass(frozen=True)
class Boards:
    """A layer of insulation boards with joints.

    Attributes
    ----------
    thickness : float
        [m]
    conductivity : float
        Of the boards. [W/(m·K)]
    joint_width : float
        [m]
    spacing : float
        Between parallel joints: the board width. [m]
    length : float or None
        Between the joints across them; None: none across. [m]
    fill : {"air", "filled", "outdoor_air"}
        Closed air slot; filled with `fill_conductivity`; or open to outdoor air, which leaves no
        resistance at all (the worst case).
    fill_conductivity : float or None
        Of the filler. [W/(m·K)]
    """

    thickness: float
    conductivity: float
    joint_width: float = 0.0
    spacing: float = 1.22
    length: float | None = None
    fill: Literal["air", "filled", "outdoor_air"] = "air"
    fill_conductivity: float | None = None

    def __post_init__(self) -> None:
        _positive("boards", thickness=self.thickness, conductivity=self.conductivity)
        shortest = self.spacing if self.length is None else min(self.spacing, self.length)
        if not 0.0 <= self.joint_width < shortest:
            raise InputError(
                f"boards: joint_width = {self.joint_width}: must be 0–{shortest} m; is it in mm?"
            )
        if (self.fill == "filled") != (self.fill_conductivity is not None):
            raise InputError("boards: fill_conductivity goes with fill = 'filled', and only there")

    @property
    def board_resistance(self) -> float:
        """Of the boards alone. [m²·K/W]"""
        return self.thickness / self.conductivity

    @property
    def joint_share(self) -> float:
        """Share of area that is joint. [-]"""
        across = 1.0 if self.length is None else 1.0 - self.joint_width / self.length
        return 1.0 - (1.0 - self.joint_width / self.spacing) * across

    @property
    def joint_resistance(self) -> float:
        """Through the joint. [m²·K/W]"""
        if self.fill == "outdoor_air":
            return 0.0
        if self.fill_conductivity is not None:
            return self.thickness / self.fill_conductivity
        if self.joint_width == 0.0:
            return self.board_resistance
        return slot_resistance(depth=self.thickness, width=self.joint_width)


class JointedLayer(NamedTuple):
    """Resistances of one or two layers of jointed boards. [m²·K/W]"""

    effective: float
    """Area-weighted."""
    sound: float
    """Without joints."""
    worst: float
    """Along the worst path, straight through a joint."""


def jointed_layer(
    outer: Boards,
    inner: Boards | None = None,
    *,
    staggered: bool = True,
    outside: float = 0.04,
    inside: float = 0.13,
) -> JointedLayer:
    """Effective resistance of boards with joints, one layer or two. [m²·K/W]

    Paths are parallel from air to air (no lateral flow), so the loss is an upper bound next to
    conducting layers. Two staggered layers: paths through a joint in one, in the other, in neither
    (joints never meet). Aligned: the joints of both lie over each other; then the joint pattern
    must be the same.

    Parameters
    ----------
    outer, inner : Boards
        The layers; `inner` None: one layer.
    staggered : bool
        Whether the joints of the two layers are offset.
    outside, inside : float
        Resistance of everything outside and inside of the boards, films included; the defaults
        are the films of ISO 6946 alone. [m²·K/W]
    """
    common = outside + inside
    _positive("jointed layer", **{"outside + inside": common})
    if inner is None:
        paths = _one_layer(outer)
    elif staggered:
        paths = _staggered(outer, inner)
    else:
        paths = _aligned(outer, inner)
    conductance = sum(share / (common + R) for share, R in paths)
    return JointedLayer(
        effective=1.0 / conductance - common,
        sound=outer.board_resistance + (inner.board_resistance if inner else 0.0),
        worst=min(R for share, R in paths if share > 0.0),
    )


def _one_layer(a: Boards) -> list[tuple[float, float]]:
    return [(a.joint_share, a.joint_resistance), (1.0 - a.joint_share, a.board_resistance)]


def _staggered(a: Boards, b: Boards) -> list[tuple[float, float]]:
    sound = 1.0 - a.joint_share - b.joint_share
    if sound < 0.0:
        raise InputError("jointed layer: joints take more than the whole area; widths in mm?")
    return [
        (a.joint_share, a.joint_resistance + b.board_resistance),
        (b.joint_share, a.board_resistance + b.joint_resistance),
        (sound, a.board_resistance + b.board_resistance),
    ]


def _aligned(a: Boards, b: Boards) -> list[tuple[float, float]]:
    if abs(a.joint_share - b.joint_share) > 1e-12:
        raise InputError("jointed layer: aligned joints need the same width and spacing in both")
    return [
        (a.joint_share, a.joint_resistance + b.joint_resistance),
        (1.0 - a.joint_share, a.board_resistance + b.board_resistance),
    ]


class Bridge(NamedTuple):
    """Repeated thermal bridges of one kind."""

    transmittance: float
    """Point χ [W/K] or linear ψ [W/(m·K)] transmittance, from a test or a 3-D calculation."""
    density: float
    """Number [1/m²] or length [m/m²] per wall area."""


def effective_u(u_clear: float, bridges: list[Bridge]) -> float:
    """Transmittance with point and linear bridges: U + Σ n·χ + Σ l·ψ (ISO 10211). [W/(m²·K)]"""
    _positive("effective U", u_clear=u_clear)
    u = u_clear + sum(bridge.transmittance * bridge.density for bridge in bridges)
    _positive("effective U", **{"U with bridges": u})
    return u


def effective_resistance(u_clear: float, bridges: list[Bridge], *, common: float) -> float:
    """What the insulation is worth with its bridges: 1/U_eff less the common layers. [m²·K/W]"""
    return 1.0 / effective_u(u_clear, bridges) - common


def fastener_density(spacing: float, row_spacing: float) -> float:
    """Fasteners per wall area on a grid. [1/m²]"""
    _positive("fasteners", spacing=spacing, row_spacing=row_spacing)
    return 1.0 / (spacing * row_spacing)


def fastener_gain_iso6946(
    *,
    conductivity: float,
    area: float,
    density: float,
    depth: float,
    R_insulation: float,
    R_total: float,
    thickness: float,
) -> float:
    """Correction ΔU_f for fasteners through insulation. [W/(m²·K)]

    ISO 6946:2017 annex F (from memory): ΔU_f = α·λ_f·A_f·n_f/d1·(R1/R_tot)², α = 0.8, times d1/d0
    for a recessed fastener. Not valid where both ends touch metal sheets.

    Parameters
    ----------
    conductivity : float
        Of the fastener. [W/(m·K)]
    area : float
        Cross-section of one. [m²]
    density : float
        [1/m²]
    depth : float
        Length of the fastener that lies in the insulation, d1. [m]
    R_insulation, R_total : float
        Of the penetrated insulation, and of the wall without fasteners. [m²·K/W]
    thickness : float
        Of the insulation, d0. [m]
    """
    _positive("fastener", depth=depth, R_total=R_total, thickness=thickness)
    alpha = 0.8 * min(1.0, depth / thickness)
    return alpha * conductivity * area * density / depth * (R_insulation / R_total) ** 2


def parallel_path_gain(
    *, conductivity: float, area: float, density: float, insulation_conductivity: float
) -> float:
    """Share of conduction that fasteners add to the insulation layer alone, parallel path. [-]

    Upper bound: heat reaches a real fastener only by spreading through boards, wood and cladding.

    Parameters
    ----------
    conductivity, insulation_conductivity : float
        [W/(m·K)]
    area : float
        Cross-section of one fastener. [m²]
    density : float
        [1/m²]
    """
    share = area * density
    if not 0.0 <= share < 1.0:
        raise InputError(f"fastener: area·density = {share}: must be 0–1; is the area in mm²?")
    return share * (conductivity / insulation_conductivity - 1.0)


class FramingValue(NamedTuple):
    """Effective resistance of framing and cavity insulation together, with its source."""

    R: float
    """[m²·K/W]"""
    source: str


def steel_stud_resistance(*, depth_in: float, spacing_in: int, cavity_R_ip: float) -> FramingValue:
    """Effective resistance of an insulated steel-stud cavity, ASHRAE 90.1 table A9.2B.

    Parameters
    ----------
    depth_in, spacing_in : float
        Stud depth and spacing as the table names them. [in]
    cavity_R_ip : float
        Rated resistance of the cavity insulation. [ft²·h·°F/Btu]

    Raises
    ------
    InputError
        For a combination the table does not have; nothing is interpolated.
    """
    rows = table("hygro.wall", "framing")["steel_stud"]
    for row in rows:
        if (row["depth"], row["spacing"], row["rated"]) == (depth_in, spacing_in, cavity_R_ip):
            return FramingValue(row["effective"] * R_IP, row["source"])
    known = ", ".join(f"{r['depth']}/{r['spacing']}/R-{r['rated']}" for r in rows)
    raise InputError(
        f"steel stud: depth/spacing/R = {depth_in}/{spacing_in}/R-{cavity_R_ip} is not in the "
        f"table; known: {known}"
    )


def wood_framing_fraction(spacing_in: int) -> tuple[float, str]:
    """Usual share of wood in a framed wall, and its source."""
    rows: Data = table("hygro.wall", "framing")["wood_fraction"]
    if str(spacing_in) not in rows:
        raise InputError(f"wood framing: spacing = {spacing_in} in: known {sorted(rows)}")
    row = rows[str(spacing_in)]
    return row["fraction"], row["source"]
