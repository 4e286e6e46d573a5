"""From the tables on a layer to joints, metal, studs and the state at the start, and that alone."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from hygro.case.materials import Shelf
from hygro.case.part_entry import AttachmentEntry, FramingEntry, JointsEntry, WashingEntry
from hygro.errors import InputError
from hygro.material import Material
from hygro.wall.assembly import Initial, Wall
from hygro.wall.bridge import fastener_density
from hygro.wall.built_in import unprotected
from hygro.wall.interruptions import Attachment, Framing, Joints
from hygro.wall.washing import with_wind_washing

if TYPE_CHECKING:
    from hygro.case.schema import InitialEntry, LayerEntry


def initial(entry: InitialEntry, material: Material) -> Initial:
    """State of a layer at the start; raises `InputError` for contradictions."""
    if not entry.unprotected:
        return Initial(entry.rh, entry.moisture_content, entry.temperature)
    if entry.moisture_content is not None:
        raise InputError("initial: unprotected and moisture_content: one of them")
    return replace(unprotected(material), temperature=entry.temperature)


def interruptions(entry: LayerEntry, shelf: Shelf) -> dict[str, Any]:
    """Joints, attachments and framing of a layer, as keyword arguments of `Layer`."""
    return {
        "joints": None if entry.joints is None else _joints(entry.joints),
        "attachments": tuple(_attachment(item) for item in entry.attachments),
        "framing": None if entry.framing is None else _framing(entry.framing, shelf),
    }


def _joints(entry: JointsEntry) -> Joints:
    return Joints(**entry.model_dump())


def _attachment(entry: AttachmentEntry) -> Attachment:
    place = f"attachment '{entry.name}'"
    kept = entry.model_dump(exclude={"spacing", "row_spacing", "diameter", "thickness"})
    if entry.kind == "line":
        if entry.thickness is None or entry.diameter is not None or entry.row_spacing is not None:
            raise InputError(f"{place}: a line has the keys 'spacing' and 'thickness'")
        return Attachment(density=1.0 / entry.spacing, area=entry.thickness, **kept)
    if entry.diameter is None or entry.thickness is not None:
        raise InputError(f"{place}: a point has the keys 'spacing', 'row_spacing', 'diameter'")
    area = 0.25 * math.pi * entry.diameter**2
    density = fastener_density(entry.spacing, entry.row_spacing or entry.spacing)
    return Attachment(density=density, area=area, **kept)


def _framing(entry: FramingEntry, shelf: Shelf) -> Framing:
    material = None if entry.material is None else shelf.layer(entry.material)
    return Framing(entry.fraction, material, entry.conductivity)


def washed(wall: Wall, tables: dict[str, WashingEntry]) -> Wall:
    """Return the wall with the air planes of its washed layers."""
    for layer, entry in tables.items():
        wall = with_wind_washing(wall, layer, **entry.model_dump())
    return wall
