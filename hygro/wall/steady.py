"""The hand formulas of a layered wall: steady resistances, temperatures and vapour pressures.

Owns the one-dimensional steady state; knows nothing of storage, of time or of the march, and
takes its layers as plain numbers so that it can stand beside the simulation as a hand check.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, NamedTuple

import numpy as np
import numpy.typing as npt

from hygro.errors import InputError, near_matches
from weather.moistair import Surface, saturation_pressure

Array = npt.NDArray[np.float64]


class SteadyLayer(NamedTuple):
    """One layer as hand formulas see it."""

    name: str
    R: float
    """Thermal resistance. [m²·K/W]"""
    Z: float
    """Vapour resistance. [m²·s·Pa/kg]"""


@dataclass(frozen=True)
class SteadyWall:
    """Layers from outside to inside between two surface resistances.

    Attributes
    ----------
    layers : tuple of SteadyLayer
        From outside to inside.
    R_se, R_si : float
        Surface resistances; defaults of ISO 6946 for horizontal heat flow. [m²·K/W]
    Z_se, Z_si : float
        Vapour resistances of the two air films. [m²·s·Pa/kg]

    Raises
    ------
    InputError
        No layer, a repeated name, or a resistance that is negative or not finite.
    """

    layers: tuple[SteadyLayer, ...]
    R_se: float = 0.04
    R_si: float = 0.13
    Z_se: float = 0.0
    Z_si: float = 0.0

    def __post_init__(self) -> None:
        names = [layer.name for layer in self.layers]
        if not names:
            raise InputError("steady wall: layers is empty; at least one layer is needed")
        if len(set(names)) != len(names):
            raise InputError(f"steady wall: layer names must differ, got {names}")
        for name, value in _named_resistances(self):
            if not (np.isfinite(value) and value >= 0.0):
                raise InputError(f"steady wall: {name} = {value}: must be finite and not negative")


class SteadyState(NamedTuple):
    """State at the planes: outdoor air, outer face, interfaces, inner face, indoor air."""

    temperature: Array
    """[K]"""
    vapour_pressure: Array
    """[Pa]"""
    saturation: Array
    """Saturation pressure, over ice below 0 °C (ISO 13788). [Pa]"""


def _named_resistances(wall: SteadyWall) -> list[tuple[str, float]]:
    films = [("R_se", wall.R_se), ("R_si", wall.R_si), ("Z_se", wall.Z_se), ("Z_si", wall.Z_si)]
    return films + [(f"{x.name}.{key}", getattr(x, key)) for x in wall.layers for key in "RZ"]


def resistances(wall: SteadyWall) -> tuple[Array, Array]:
    """Thermal [m²·K/W] and vapour [m²·s·Pa/kg] resistances with films, outside to inside."""
    R = np.array([wall.R_se, *(layer.R for layer in wall.layers), wall.R_si])
    Z = np.array([wall.Z_se, *(layer.Z for layer in wall.layers), wall.Z_si])
    return R, Z


def total_resistance(wall: SteadyWall) -> float:
    """Resistance from air to air. [m²·K/W]"""
    return float(resistances(wall)[0].sum())


def u_value(wall: SteadyWall) -> float:
    """Thermal transmittance from air to air. [W/(m²·K)]"""
    total = total_resistance(wall)
    if total <= 0.0:
        raise InputError("steady wall: total thermal resistance is 0, U has no value")
    return 1.0 / total


def potentials(resistance: Array, outer: float, inner: float) -> Array:
    """Potential at the n + 1 planes of n resistances in series, in the unit of the ends."""
    passed = np.concatenate(([0.0], np.cumsum(resistance)))
    if passed[-1] <= 0.0:
        raise InputError("steady wall: resistances add up to 0, the profile has no value")
    return outer + (inner - outer) * passed / passed[-1]


def steady_state(
    wall: SteadyWall, *, T_o: float, p_o: float, T_i: float, p_i: float
) -> SteadyState:
    """Temperatures and diffusion vapour pressures at all planes, air films included.

    Parameters
    ----------
    wall : SteadyWall
        Layers and films.
    T_o, T_i : float
        Outdoor and indoor air temperature. [K]
    p_o, p_i : float
        Outdoor and indoor vapour pressure. [Pa]
    """
    R, Z = resistances(wall)
    T = potentials(R, T_o, T_i)
    return SteadyState(
        T, potentials(Z, p_o, p_i), np.asarray(saturation_pressure(T, over="iso13788"))
    )


def plane_index(wall: SteadyWall, layer: str, side: Literal["outer", "inner"]) -> int:
    """Index, among the planes of `steady_state`, of one face of a named layer."""
    names = [x.name for x in wall.layers]
    if layer not in names:
        raise InputError(f"steady wall: no layer '{layer}'; {near_matches(layer, names)}")
    return names.index(layer) + (1 if side == "outer" else 2)


def plane_temperature(wall: SteadyWall, plane: int, *, T_o: float, T_i: float) -> float:
    """Steady temperature at a plane. [K]"""
    return float(potentials(resistances(wall)[0], T_o, T_i)[plane])


def outboard_share(wall: SteadyWall, plane: int, *, counted: Sequence[str] | None = None) -> float:
    """Share of resistance that lies outside a plane. [-]

    Parameters
    ----------
    wall : SteadyWall
        Layers and films.
    plane : int
        Index as in `plane_index`.
    counted : sequence of str, optional
        Layers to count. Default: everything with both films, which is the share that fixes the
        plane's temperature. Codes count only the outer and the cavity insulation.
    """
    if counted is None:
        R = resistances(wall)[0]
        return float(R[:plane].sum() / R.sum())
    for name in counted:
        plane_index(wall, name, "outer")
    kept = [(i + 2, x.R) for i, x in enumerate(wall.layers) if x.name in counted]
    outside = sum(R for inner_face, R in kept if inner_face <= plane)
    return outside / sum(R for _, R in kept)


def least_outboard_share(*, T_o: float, T_i: float, T_dew: float) -> float:
    """Least outboard share of R that keeps the plane at the dew point; never below 0. [-]

    R_ext/R_tot ≥ (T_dp − T_o)/(T_i − T_o), with T_o the mean of the three coldest months.

    Raises
    ------
    InputError
        If it is not colder outdoors than indoors, or the indoor air is beyond saturation.
    """
    if not T_o < T_i:
        raise InputError(f"dew-point ratio: T_o = {T_o} K must be below T_i = {T_i} K")
    if T_dew > T_i:
        raise InputError(f"dew-point ratio: T_dew = {T_dew} K is above T_i = {T_i} K; RH over 1?")
    return max(0.0, (T_dew - T_o) / (T_i - T_o))


def highest_indoor_rh(
    wall: SteadyWall, plane: int, *, T_o: float, T_i: float, over: Surface = "iso13788"
) -> float:
    """Highest indoor RH at which indoor air does not condense on the plane; at most 1. [-]

    RH indoors is over water; `over` says whether the plane is judged by dew or by frost point.
    """
    T = plane_temperature(wall, plane, T_o=T_o, T_i=T_i)
    at_plane = float(saturation_pressure(T, over=over))
    return min(1.0, at_plane / float(saturation_pressure(T_i, over="water")))


def condensing_plane(
    wall: SteadyWall, *, T_o: float, p_o: float, T_i: float, p_i: float
) -> int | None:
    """Plane where the diffusion profile exceeds saturation most, or None.

    Air-film planes count, so that a wet inner face is found. Only interfaces are looked at: inside
    a thick layer the excess may be larger; subdivide it (`hygro.wall.monthly.subdivided`).
    """
    state = steady_state(wall, T_o=T_o, p_o=p_o, T_i=T_i, p_i=p_i)
    excess = (state.vapour_pressure - state.saturation)[1:-1]
    worst = int(np.argmax(excess))
    # A surplus below 1e-6 Pa is round-off of a profile that just touches saturation.
    return worst + 1 if excess[worst] > 1e-6 else None
