"""Wind washing of air-permeable insulation: outdoor air that passes through its outer part.

Owns the flow and the plane at which it exchanges; the exchange itself is that of a gap in the run.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from hygro.errors import InputError
from hygro.wall.assembly import Gap, Layer, Wall, Washing
from hygro.wall.flow import air_density
from hygro.wall.gap_flow import VISCOSITY

PLANE = 0.001
"""Depth of the exchange plane, taken from the inner part of the layer. [m]"""
PLANE_COEFFICIENT = 2000.0
"""Transfer at the plane: 0.001 m²·K/W from part to part, without effect beside any insulation.
[W/(m²·K)]"""


def washing_rate(washing: Washing, *, wind: Any, T: Any) -> Any:
    """Outdoor air that washes through, per wall area. [m³/(s·m²)]

    Darcy flow along the wall: V = κ/μ · ½·ρ·ΔCp·v²/ℓ · d/ℓ. The form and its defaults are common
    practice, no source; the permeability κ is that of the material.

    Parameters
    ----------
    washing : Washing
        Depth, permeability and way of the air.
    wind : float or array
        Wind speed. [m/s]
    T : float or array
        Outdoor temperature. [K]
    """
    pressure = 0.5 * air_density(T) * washing.wind_coefficient * wind**2
    velocity = washing.permeability / VISCOSITY * pressure / washing.length
    return velocity * washing.depth / washing.length


def with_wind_washing(
    wall: Wall,
    layer: str,
    *,
    depth: float,
    permeability: float | None = None,
    length: float = 1.0,
    wind_coefficient: float = 0.2,
) -> Wall:
    """Return the wall with an exchange plane in a layer, `depth` below its outer face.

    The air is taken to leave at the state of that plane: an upper bound of the heat it takes for
    this depth. The layer becomes two, "NAME, washed" outside and "NAME" inside of the plane.

    Parameters
    ----------
    wall : Wall
        The wall without washing.
    layer : str
        Air-permeable layer without a wind barrier outside.
    depth : float
        Washed part of it. [m]
    permeability : float, optional
        Air permeability; None: that of the material. [m²]
    length, wind_coefficient
        See `Washing`.

    Raises
    ------
    InputError
        The layer is airtight, takes up liquid (which the plane would stop), is too thin, or has
        joints (a joint's path and the washed part cannot be told apart here).
    """
    found = wall.layer(layer)
    kappa = found.material.air_permeability if permeability is None else permeability
    place = f"wind washing of '{layer}'"
    if kappa is None or not 0.0 < kappa <= 1e-6:
        raise InputError(
            f"{place}: permeability = {kappa}: must be above 0 and at most 1e-6 m²; is the "
            "material open to air?"
        )
    if found.material.liquid is not None:
        raise InputError(f"{place}: the material carries liquid water; not possible")
    if found.joints is not None:
        raise InputError(f"{place}: the layer has joints; give the joints or the washing")
    if not 0.0 < depth < found.thickness - 2 * PLANE:
        raise InputError(
            f"{place}: depth = {depth:g} m: must be above 0 and below the thickness "
            f"{found.thickness:g} m; is it in mm?"
        )
    washing = Washing(depth, kappa, length, wind_coefficient)
    parts = _parts(found, washing)
    elements = tuple(x for e in wall.layers for x in (parts if e is found else (e,)))
    return replace(wall, layers=elements)


def _parts(layer: Layer, washing: Washing) -> tuple[Layer | Gap, ...]:
    if not (0.0 < washing.length <= 100.0 and 0.0 <= washing.wind_coefficient <= 4.0):
        raise InputError(
            f"wind washing of '{layer.name}': length = {washing.length:g} m must be above 0 and at "
            f"most 100, wind_coefficient = {washing.wind_coefficient:g} must be 0-4"
        )
    plane = Gap(
        f"{layer.name}, air plane", PLANE, washing, emissivity_outer=1e-6, emissivity_inner=1e-6,
        convection=PLANE_COEFFICIENT,
    )  # fmt: skip
    outer = replace(layer, name=f"{layer.name}, washed", thickness=washing.depth)
    return outer, plane, replace(layer, thickness=layer.thickness - washing.depth - PLANE)
