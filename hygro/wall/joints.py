"""Board joints in a wall: what they leave of a resistance, and the wall along the worst path.

Owns the step from `Joints` on a layer to the formulas of `bridge` and to a second wall for a
one-dimensional run straight through a joint; runs nothing.
"""

from __future__ import annotations

from dataclasses import replace

from hygro.errors import InputError
from hygro.material import Material
from hygro.material.storage import TableStorage
from hygro.material.thermal import ConstantConductivity
from hygro.material.vapour import ConstantMu
from hygro.wall.bridge import Boards, JointedLayer, jointed_layer, slot_resistance
from hygro.wall.elements import Gap, Layer, Membrane
from hygro.wall.interruptions import Joints
from hygro.wall.resistance import R_SI, conductivity, first_counted, outer_film, resistance
from hygro.wall.wall import Wall

Element = Layer | Membrane | Gap

SLOT_CAPACITY = 1.2
"""Density of the air of a slot in the run, so that its heat capacity is that of air. [kg/m³]"""
SLOT_WATER = 0.02
"""Water that the air of a slot holds at saturation near 20 °C: 17 g/m³, rounded up. [kg/m³]"""


def around(wall: Wall, layer: str) -> tuple[float, float]:
    """Resistance outside and inside of a layer, films included. [m²·K/W]

    What stands outside of a well-ventilated gap counts as its film only (ISO 6946).

    Raises
    ------
    InputError
        The layer stands outside of such a gap.
    """
    index = wall.layers.index(wall.layer(layer))
    first = first_counted(wall)
    if index < first:
        raise InputError(f"layer '{layer}': stands outside of a well-ventilated gap")
    outside = outer_film(wall) + sum(resistance(e) for e in wall.layers[first:index])
    return outside, R_SI + sum(resistance(e) for e in wall.layers[index + 1 :])


def boards(layer: Layer) -> tuple[Boards, Boards | None]:
    """One or two layers of jointed boards that make up a layer; raises `InputError`."""
    joints = _joints(layer)
    one = Boards(
        thickness=layer.thickness / joints.layers,
        conductivity=conductivity(layer.material),
        joint_width=joints.opened,
        spacing=joints.spacing,
        length=joints.length,
        fill=joints.fill,
        fill_conductivity=joints.fill_conductivity,
    )
    return one, one if joints.layers == 2 else None


def joint_resistances(wall: Wall, layer: str) -> JointedLayer:
    """Resistances of a jointed layer: area-weighted, sound, along the worst path. [m²·K/W]

    Parallel paths from air to air (`bridge.jointed_layer`).
    """
    outside, inside = around(wall, layer)
    found = wall.layer(layer)
    outer, inner = boards(found)
    staggered = _joints(found).staggered
    return jointed_layer(outer, inner, staggered=staggered, outside=outside, inside=inside)


def worst_path(wall: Wall) -> Wall:
    """Return the wall that stands over a joint, for a second one-dimensional run.

    Every jointed layer is cut by its worst path: the whole layer becomes the joint, or, of two
    staggered layers, the outer one. A closed slot is air with the resistance of `slot_resistance`
    and still-air diffusion; a filler keeps the board's other properties; a slot open to outdoor air
    is left out, so that outdoor air (of the gap, if one is outside) meets what is behind.

    The run overstates the cold: heat flows sideways into a joint from the boards beside it.

    Raises
    ------
    InputError
        No layer has joints, or without the open joint nothing would be left to stand there.
    """
    if not any(layer.joints for layer in wall.solids):
        raise InputError(f"wall '{wall.name}': no layer has joints")
    elements: list[Element] = []
    for element in wall.layers:
        if isinstance(element, Layer) and element.joints is not None:
            elements.extend(_cut(element))
        else:
            elements.append(element)
    return replace(wall, name=f"{wall.name}, at a joint", layers=tuple(elements))


def _cut(layer: Layer) -> list[Element]:
    joints = _joints(layer)
    plain = replace(layer, joints=None, attachments=())
    if joints.opened == 0.0:
        return [plain]
    staggered = joints.layers == 2 and joints.staggered
    part = layer.thickness / 2 if staggered else layer.thickness
    kept = replace(plain, thickness=layer.thickness - part) if staggered else None
    name = f"{layer.name}, joint" if staggered else layer.name
    slot = _slot(replace(plain, name=name, thickness=part), joints)
    return [e for e in (slot, kept) if e is not None]


def _slot(layer: Layer, joints: Joints) -> Layer | None:
    """What fills the joint over the thickness of `layer`; None where outdoor air does."""
    if joints.fill == "outdoor_air":
        return None
    if joints.fill_conductivity is not None:
        thermal = ConstantConductivity(joints.fill_conductivity)
        return replace(layer, material=replace(layer.material, thermal=thermal))
    depth = layer.thickness / (2 if joints.layers == 2 and not joints.staggered else 1)
    per_board = slot_resistance(depth=depth, width=joints.opened)
    return replace(layer, material=_slot_air(depth / per_board))


def _slot_air(equivalent: float) -> Material:
    """Air of a slot with an equivalent conductivity [W/(m·K)], as a material of the run."""
    return Material(
        key="air-slot",
        name="air in a joint",
        group="idealised",
        density=SLOT_CAPACITY,
        heat_capacity=1006.0,
        pore_volume=1.0,
        storage=TableStorage(rh=((0.5, 0.5 * SLOT_WATER),), w_free=SLOT_WATER),
        vapour=ConstantMu(1.0),
        thermal=ConstantConductivity(equivalent),
        sources={"default": "air; conductivity from ISO 6946:2017 annex D (from memory)"},
    )


def _joints(layer: Layer) -> Joints:
    if layer.joints is None:
        raise InputError(f"layer '{layer.name}': has no joints")
    return layer.joints
