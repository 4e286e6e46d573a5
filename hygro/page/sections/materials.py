"""Materials as used: single numbers with their source, and the curves."""

from __future__ import annotations

from hygro.material.describe import details
from hygro.material.model import AnyMaterial
from hygro.page.subject import Section, Subject
from hygro.page.wording import for_clients
from hygro.show.curves import KINDS, curves
from hygro.show.materials import cell
from hygro.show.svg import svg
from hygro.types import Data, Plain
from hygro.units import System


def materials(subject: Subject) -> Section:
    """Return the section."""
    used = list(subject.materials.values())
    data = {
        "figures": [
            svg(figure, f"k{k}", f"{KINDS[kind].title}: the materials used", least=480)
            for k, (kind, figure) in enumerate(_drawn(used, subject.system))
        ],
        "materials": [_material(material, subject) for material in used],
    }
    answers = ("material data", "material sources", "curves")
    return Section("materials", "Materials as used", "materials.html", data, answers)


def _drawn(used: list[AnyMaterial], system: System) -> list[tuple[str, Plain]]:
    found = [(kind, curves(used, kind, system=system)) for kind in KINDS]
    return [(kind, figure) for kind, figure in found if figure is not None]


def _material(material: AnyMaterial, subject: Subject) -> Data:
    """A row for each property and source: values with the conditions that they hold at."""
    rows: dict[tuple[str, str, str], list[str]] = {}
    for row in details(material, subject.system):
        key = (row.property.replace("_", " "), row.unit, for_clients(row.source))
        value = cell(row.value)
        rows.setdefault(key, []).append(f"{row.condition}: {value}" if row.condition else value)
    told = [
        (name, "; ".join(values), unit, source) for (name, unit, source), values in rows.items()
    ]
    return {"name": material.name, "key": material.key, "rows": told}
