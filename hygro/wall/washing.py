"""Wind washing of air-permeable insulation: outdoor air that passes through its outer part.

Owns the flow and the plane at which it exchanges; the exchange itself is that of a gap in the run.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from hygro.constants import STANDARD_PRESSURE
from hygro.errors import InputError
from hygro.wall.elements import Gap, Layer, Membrane, Washing
from hygro.wall.flow import air_density
from hygro.wall.gap_flow import VISCOSITY
from weather.arrays import Value

PLANE = 0.001
"""Depth of the exchange plane, taken from the inner part of the layer. [m]"""
PLANE_COEFFICIENT = 2000.0
"""Transfer at the plane: 0.001 m²·K/W from part to part, without effect beside any insulation.
[W/(m²·K)]"""


def washing_rate(
    washing: Washing, *, wind: Value, T: Value, pressure: float = STANDARD_PRESSURE
) -> Value:
    """Outdoor air that washes through, per wall area. [m³/(s·m²)]

    Darcy flow along the wall: V = κ/μ · ½·ρ·ΔCp·v²/ℓ · d/ℓ. The form and its defaults are common
    practice, no source; the permeability κ is that of the material.

    Parameters
    ----------
    washing : Washing
        Depth, permeability and path of the air.
    wind : float or array
        Wind speed. [m/s]
    T : float or array
        Outdoor temperature. [K]
    pressure : float
        Of the air at the site. [Pa]
    """
    assert washing.permeability is not None  # `washed` settles it
    drive = 0.5 * air_density(T, pressure=pressure) * washing.wind_coefficient * wind**2
    velocity = washing.permeability / VISCOSITY * drive / washing.length
    return velocity * washing.depth / washing.length


def washed(elements: Iterable[Layer | Membrane | Gap]) -> tuple[Layer | Membrane | Gap, ...]:
    """Return the elements with an exchange plane in every layer that wind washes.

    The plane lies at the washed depth below the outer face. The air is taken to leave at its state:
    an upper bound of the heat it takes for this depth. The layer becomes two, "NAME, washed"
    outside and "NAME" inside of the plane.

    Raises
    ------
    InputError
        The layer is airtight, takes up liquid (which the plane would stop), is too thin, or has
        joints (a joint's path and the washed part cannot be told apart here).
    """
    found: list[Layer | Membrane | Gap] = []
    for element in elements:
        if isinstance(element, Layer) and element.wind_washing is not None:
            found += _parts(element, _settled(element, element.wind_washing))
        else:
            found.append(element)
    return tuple(found)


def _settled(layer: Layer, washing: Washing) -> Washing:
    kappa = washing.permeability or layer.material.air_permeability
    place = f"wind washing of '{layer.name}'"
    if kappa is None:
        raise InputError(f"{place}: permeability: missing; is the material open to air?")
    if layer.material.liquid is not None:
        raise InputError(f"{place}: the material carries liquid water; not possible")
    if layer.joints is not None:
        raise InputError(f"{place}: the layer has joints; give the joints or the washing")
    if not washing.depth < layer.thickness - 2 * PLANE:
        raise InputError(
            f"{place}: depth = {washing.depth:g} m: must be above 0 and below the thickness "
            f"{layer.thickness:g} m; is it in mm?"
        )
    return replace(washing, permeability=kappa)


def _parts(layer: Layer, washing: Washing) -> tuple[Layer | Gap, ...]:
    plane = Gap(
        f"{layer.name}, air plane", PLANE, washing, emissivity_outer=1e-6, emissivity_inner=1e-6,
        convection=PLANE_COEFFICIENT,
    )  # fmt: skip
    bare = replace(layer, wind_washing=None)
    outer = replace(bare, name=f"{layer.name}, washed", thickness=washing.depth)
    return outer, plane, replace(bare, thickness=layer.thickness - washing.depth - PLANE)
