"""Porous materials and sheets: curves, data with their sources, checks. Knows no wall or solver."""

from hygro.material.model import (
    AnyMaterial,
    Material,
    SheetMaterial,
    fingerprint,
    from_dict,
    with_permeance,
)

__all__ = ["AnyMaterial", "Material", "SheetMaterial", "fingerprint", "from_dict", "with_permeance"]
