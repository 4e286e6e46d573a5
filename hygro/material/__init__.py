"""Porous materials and sheets: curves, data with their sources, checks. Knows no wall or solver."""

from hygro.material.model import (
    AnyMaterial,
    Material,
    SheetMaterial,
    fingerprint,
    from_dict,
    to_dict,
)

__all__ = ["AnyMaterial", "Material", "SheetMaterial", "fingerprint", "from_dict", "to_dict"]
