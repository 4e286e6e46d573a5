"""From a wall table to the wall as a value. Owns that step alone; reads no files.

What cannot be built is collected with its path in the case, so that one reading reports it all.
"""

from __future__ import annotations

from typing import Any

from hygro.case.materials import Shelf, with_permeance
from hygro.case.parts import initial as initial_state
from hygro.case.parts import interruptions, washed
from hygro.case.rain_entry import rain_factors
from hygro.case.schema import (
    AirLeakEntry,
    GapEntry,
    InitialEntry,
    LayerEntry,
    LeaksEntry,
    MembraneEntry,
    OpeningsEntry,
    OutsideEntry,
    PlaceEntry,
    WallEntry,
)
from hygro.case.template import element_name
from hygro.case.trouble import Problem
from hygro.errors import InputError, near_matches
from hygro.material import Material
from hygro.wall.assembly import (
    AirFlow,
    AirLeak,
    Channel,
    Face,
    Gap,
    Inside,
    Layer,
    Membrane,
    Openings,
    Outside,
    Place,
    RainLeak,
    Wall,
    Wetting,
)

DECLARED_RH = 0.5
"""Humidity at which the thickness for a wanted R is reckoned; common practice, no source. [1]"""


def wall(entry: WallEntry, shelf: Shelf) -> tuple[Wall | None, list[Problem]]:
    """Build the wall of a table, or say what keeps it from being built."""
    problems: list[Problem] = []
    place = f'wall."{entry.name}"'
    if not entry.layers:
        return None, [Problem(f"{place}.layers", "missing; a wall needs at least one layer")]
    elements = []
    names: dict[str, int] = {}
    for i, item in enumerate(entry.layers):
        try:
            elements.append(_element(item, _unique(item, names), entry.initial, shelf))
        except InputError as error:
            problems.append(Problem(f"{place}.layers[{i}] ({_label(item)})", str(error)))
    if problems:
        return None, problems
    layers = [e.name for e in elements if isinstance(e, Layer)]
    problems += _unknown_places(entry.leaks, layers, place)
    if problems:
        return None, problems
    tables = {
        element.name: item.wind_washing
        for element, item in zip(elements, entry.layers, strict=True)
        if isinstance(item, LayerEntry) and item.wind_washing is not None
    }
    try:
        outside = _outside(entry.outside)
    except InputError as error:
        return None, [Problem(f"{place}.outside", str(error))]
    try:
        return washed(_assemble(entry, tuple(elements), outside), tables), []
    except InputError as error:
        return None, [Problem(place, str(error).removeprefix(f"wall '{entry.name}'").lstrip(":, "))]


def _assemble(
    entry: WallEntry, elements: tuple[Layer | Membrane | Gap, ...], outside: Outside
) -> Wall:
    return Wall(
        name=entry.name,
        layers=elements,
        azimuth=entry.azimuth,
        tilt=entry.tilt,
        outside=outside,
        inside=Inside(coefficient=entry.inside.coefficient),
        rain_leaks=tuple(RainLeak(_place(x), x.fraction) for x in entry.leaks.rain),
        wettings=tuple(Wetting(_place(x), x.mass, round(x.after)) for x in entry.leaks.wetting),
        air_leaks=tuple(_air_leak(x) for x in entry.leaks.air),
        air_flow=None if entry.air_flow is None else AirFlow(entry.air_flow),
    )


def _label(entry: LayerEntry | MembraneEntry | GapEntry) -> str:
    return element_name(entry.model_dump(exclude_none=True))


def _unique(entry: LayerEntry | MembraneEntry | GapEntry, names: dict[str, int]) -> str:
    """Return the element's name, numbered where a material occurs again without a name."""
    name = _label(entry)
    names[name] = names.get(name, 0) + 1
    again = names[name] > 1 and not entry.name if not isinstance(entry, GapEntry) else False
    return f"{name} {names[name]}" if again else name


def _element(
    entry: LayerEntry | MembraneEntry | GapEntry, name: str, initial: InitialEntry, shelf: Shelf
) -> Layer | Membrane | Gap:
    if isinstance(entry, GapEntry):
        return _gap(entry, name)
    if isinstance(entry, MembraneEntry):
        sheet = shelf.sheet(entry.membrane)
        given = entry.permeance
        return Membrane(name, sheet if given is None else with_permeance(sheet, given))
    material = shelf.layer(entry.material)
    start = entry.initial or initial
    return Layer(
        name=name,
        material=material,
        thickness=_thickness(entry, material),
        initial=initial_state(start, material),
        capillary_contact=entry.capillary_contact,
        **interruptions(entry, shelf),
    )


def _thickness(entry: LayerEntry, material: Material) -> float:
    if (entry.thickness is None) == (entry.resistance is None):
        raise InputError("must have one of the keys 'thickness', 'resistance'")
    if entry.thickness is not None:
        return entry.thickness
    assert entry.resistance is not None  # the other of the two
    return entry.resistance * declared_conductivity(material)


def declared_conductivity(material: Material) -> float:
    """Conductivity at 50 % RH without temperature correction. [W/(m·K)]"""
    return float(material.thermal.conductivity(material.water_content(DECLARED_RH)))


def _gap(entry: GapEntry, name: str) -> Gap:
    change: Any = entry.air_change
    if isinstance(change, OpeningsEntry):
        change = _openings(change)
    elif isinstance(change, list):
        change = tuple(change)
    values = entry.model_dump(exclude={"gap", "air_change"})
    return Gap(name=name, air_change=change, **values)


def _openings(entry: OpeningsEntry) -> Openings | Channel:
    values = entry.model_dump(exclude={"friction", "blocked"})
    if entry.friction:
        return Channel(**values, blocked=entry.blocked)
    if entry.blocked:
        raise InputError("air_change: blocked goes with friction = true, and only there")
    return Openings(**values)


def _outside(entry: OutsideEntry) -> Outside:
    return Outside(
        convection=entry.convection,
        absorptance=entry.absorptance,
        emissivity=entry.emissivity,
        albedo=entry.albedo,
        rain_method=None if entry.rain == "none" else entry.rain,
        rain_factors=rain_factors(entry.rain_factors, entry.rain),
    )


def _place(entry: PlaceEntry) -> Place:
    face: Face = entry.face
    return Place(entry.at, face, entry.depth)


def _air_leak(entry: AirLeakEntry) -> AirLeak:
    if (entry.rate is None) == (entry.permeance is None):
        raise InputError("leaks.air: must have one of the keys 'rate', 'permeance'")
    values = entry.model_dump(exclude={"at", "face", "depth"})
    return AirLeak(_place(entry), **values)


def _unknown_places(leaks: LeaksEntry, layers: list[str], place: str) -> list[Problem]:
    problems = []
    for kind in ("rain", "wetting", "air"):
        for i, item in enumerate(getattr(leaks, kind)):
            if item.at not in layers:
                known = near_matches(item.at, layers)
                text = f"'{item.at}': the wall has no such layer; {known}"
                problems.append(Problem(f"{place}.leaks.{kind}[{i}].at", text))
    return problems
