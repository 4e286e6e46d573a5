"""Metal and studs in a wall: effective R and U, and the wall along a stud.

Owns the step from `Attachment`, `Framing` and `Joints` on layers to the formulas of `bridge` and
`framing`; knows no climate. Temperatures at a shank are in `hygro.assess.metal`.
"""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

from hygro.errors import InputError
from hygro.material.thermal import ConstantConductivity
from hygro.wall.bridge import parallel_path_gain
from hygro.wall.elements import Layer
from hygro.wall.framing import effective_layer_resistance, framed_paths, parallel_path_resistance
from hygro.wall.interruptions import Attachment
from hygro.wall.joints import around, joint_resistances
from hygro.wall.resistance import R_SI, conductivity, first_counted, outer_film, resistance
from hygro.wall.wall import Wall


class UValues(NamedTuple):
    """Thermal transmittance of a wall with what interrupts its layers. [W/(m²·K)]"""

    clear: float
    """Undisturbed layers."""
    jointed: float
    """With board joints."""
    effective: float
    """With joints, framing and attachments: by χ or ψ where given, else by parallel path."""
    bound: float
    """The same with every attachment by parallel path: the upper bound."""


def u_values(wall: Wall) -> UValues:
    """Transmittances of a wall from air to air.

    Joints: parallel paths through boards and joints. Attachments without a transmittance: the
    insulation layer conducts (1 + share·(k/λ − 1)) times as much (parallel path within the layer,
    isothermal planes between layers). Framing: two parallel paths from air to air. Attachments
    with one: U + Σ n·χ + Σ l·ψ (ISO 10211).

    Raises
    ------
    InputError
        More than one layer is framed: how the studs lie over each other is not known here.
    """
    framed = [layer.name for layer in wall.solids if layer.framing is not None]
    if len(framed) > 1:
        raise InputError(f"wall '{wall.name}': framing in {framed}: one framed layer at most")
    clear, jointed = _plain(wall, joints=False), _plain(wall, joints=True)
    return UValues(clear, jointed, _with_metal(wall, given=True), _with_metal(wall, given=False))


def interrupted_resistance(wall: Wall, layer: str) -> float:
    """What one layer is worth with its own joints, metal and studs. [m²·K/W]

    1/U with nothing else interrupted, less the resistance around the layer.
    """
    keep = wall.layer(layer)
    bare = tuple(
        replace(e, joints=None, attachments=(), framing=None)
        if isinstance(e, Layer) and e is not keep
        else e
        for e in wall.layers
    )
    outside, inside = around(wall, layer)
    return 1.0 / u_values(replace(wall, layers=bare)).effective - outside - inside


def framing_path(wall: Wall) -> Wall:
    """Return the wall through its studs, for a second one-dimensional run.

    Wood: the cavity insulation becomes the stud's material. Steel (`conductivity`): it keeps its
    moisture properties and takes the equivalent conductivity, since a web has no width.

    Raises
    ------
    InputError
        No layer is framed.
    """
    if not any(layer.framing for layer in wall.solids):
        raise InputError(f"wall '{wall.name}': no layer has framing")
    elements = tuple(
        _stud(e) if isinstance(e, Layer) and e.framing is not None else e for e in wall.layers
    )
    return replace(wall, name=f"{wall.name}, at a stud", layers=elements)


def steel_equivalent(
    *, effective: float, cavity: float, thickness: float, fraction: float, common: float
) -> float:
    """Conductivity of the stud path that gives an effective resistance. [W/(m·K)]

    Parameters
    ----------
    effective, cavity : float
        Resistance of framing and cavity together, e.g. `bridge.steel_stud_resistance`, and of the
        cavity insulation alone. [m²·K/W]
    thickness : float
        Of the framed layer. [m]
    fraction : float
        Share of the area that the stud is taken to govern. [1]
    common : float
        Resistance of all other layers with both films. [m²·K/W]

    Raises
    ------
    InputError
        Even a stud without any resistance of its own would insulate more than `effective`.
    """
    from scipy.optimize import brentq  # slow to import

    def miss(R: float) -> float:
        paths = framed_paths([], cavity, R, [common], fraction=fraction)
        return effective_layer_resistance(paths, common) - effective

    if not 0.0 < effective < cavity or miss(1e-9) > 0.0:
        raise InputError(
            f"steel framing: effective R = {effective:g} m²·K/W cannot come from {fraction:.0%} of "
            f"studs in R = {cavity:g}; is fraction the zone that a stud governs?"
        )
    return thickness / float(brentq(miss, 1e-9, cavity))


def _resistance(layer: Layer, wall: Wall, *, joints: bool) -> float:
    if joints and layer.joints is not None:
        return joint_resistances(wall, layer.name).effective
    return resistance(layer)


def _plain(wall: Wall, *, joints: bool) -> float:
    return 1.0 / _total(wall, {x.name: _resistance(x, wall, joints=joints) for x in _counted(wall)})


def _total(wall: Wall, layers: dict[str, float]) -> float:
    elements = wall.layers[first_counted(wall) :]
    inner = sum(layers[e.name] if isinstance(e, Layer) else resistance(e) for e in elements)
    return outer_film(wall) + inner + R_SI


def _counted(wall: Wall) -> list[Layer]:
    return [e for e in wall.layers[first_counted(wall) :] if isinstance(e, Layer)]


def _bound_gain(attachment: Attachment, layer: Layer) -> float:
    return parallel_path_gain(
        conductivity=attachment.conductivity,
        area=attachment.area,
        density=attachment.density,
        insulation_conductivity=conductivity(layer.material),
    )


def _with_metal(wall: Wall, *, given: bool) -> float:
    """U with joints, framing and attachments; by their transmittances where `given`."""
    R: dict[str, float] = {}
    extra = 0.0
    for layer in _counted(wall):
        gain = 0.0
        for item in layer.attachments:
            if given and item.transmittance is not None:
                extra += item.density * item.transmittance
            else:
                gain += _bound_gain(item, layer)
        R[layer.name] = _resistance(layer, wall, joints=True) / (1.0 + gain)
    return _framed(wall, R) + extra


def _framed(wall: Wall, R: dict[str, float]) -> float:
    framed = next((x for x in _counted(wall) if x.framing is not None), None)
    if framed is None or framed.framing is None:
        return 1.0 / _total(wall, R)
    common = _total(wall, R | {framed.name: 0.0})
    paths = framed_paths(
        [], R[framed.name], resistance(_stud(framed)), [common], fraction=framed.framing.fraction
    )
    return 1.0 / parallel_path_resistance(paths)


def _stud(layer: Layer) -> Layer:
    framing = layer.framing
    assert framing is not None  # every caller has looked
    material = framing.material
    if material is None:
        assert framing.conductivity is not None  # one of the two, see Framing
        material = replace(layer.material, thermal=ConstantConductivity(framing.conductivity))
    return replace(layer, material=material, framing=None, joints=None, attachments=())
