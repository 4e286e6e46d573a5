"""The wall as one declaration: what stands where, outside to inside, and what leaks into it.

Lengths in m, temperatures in K, relative humidity 0-1, angles in degrees; text with a unit is read
in every field. `dataclasses.replace` makes a variant. Owns no numerics and no weather.
"""

from __future__ import annotations

import dataclasses
import math
from importlib import import_module
from typing import Annotated

from pydantic import BeforeValidator, Discriminator, Tag

from hygro.declare import declared, set_once, written
from hygro.errors import InputError, near_matches
from hygro.fields import ONE, AirFlowRate, Azimuth, Name, Text, Tilt, counted
from hygro.problems import Problem, RefusedError, refuse
from hygro.wall.barrier import placed
from hygro.wall.elements import Element, Gap, Initial, Layer, Membrane
from hygro.wall.leaks import DEPTH, Leaks, sorted_leaks
from hygro.wall.order import refuse_inside_out
from hygro.wall.site import Site
from hygro.wall.surfaces import Inside, Outside
from hygro.wall.washing import washed

AirFlow = Annotated[
    Annotated[AirFlowRate, Tag("one")] | Annotated[tuple[AirFlowRate, ...], Tag("series")],
    Discriminator(lambda value: "series" if isinstance(value, list | tuple) else "one"),
]
ROUND = 1.0 + 1e-9
"""Room for rounding where a depth is the whole layer. [1]"""
MOST_ELEMENTS = 200
"""Elements of a wall; more is a slip of a script."""


@declared
class Wall:
    """A wall: elements from outside to inside, the two surfaces, and what leaks into it.

    Parameters
    ----------
    name : str
        Name.
    layers : list of Layer, Membrane and Gap
        From outside to inside.
    azimuth : float
        Direction the wall faces, clockwise from north, or a compass point. [deg]
    tilt : float
        90 is a wall, 0 a flat roof. [deg]
    initial : Initial
        State at the start of the layers that say nothing else.
    outside : Outside
        Outdoor surface.
    inside : Inside
        Indoor surface.
    leaks : Leaks, or list of RainLeak, Wetting and AirLeak
        What gets in besides diffusion.
    air_flow : float or list
        Straight-through air flow, positive inward: one number or an hourly series. [m³/(s·m²)]
    site : Site
        Terrain, height and shelter for the wind, pressure of the air.
    sheathing : str, optional
        Layer to be judged as sheathing; left out: the verdict chooses.
    note : str
        What the wall is for.
    """

    name: Name
    layers: Annotated[tuple[Element, ...], counted(0, MOST_ELEMENTS), ONE]
    azimuth: Azimuth = 0.0
    tilt: Tilt = 90.0
    initial: Initial = Initial()
    outside: Outside = Outside()
    inside: Inside = Inside()
    leaks: Annotated[Leaks, BeforeValidator(sorted_leaks)] = Leaks()
    air_flow: AirFlow | None = None
    site: Site = Site()
    sheathing: Text | None = None
    note: Text = ""

    def __post_init__(self) -> None:
        """Settle names, washed layers and places of leaks, and check what needs no climate."""
        set_once(self, "layers", washed(_numbered(self.layers)))
        if not self.solids:
            refuse("layers", "no layers; a wall needs at least one layer")
        refuse_inside_out(self.layers)
        set_once(self, "leaks", placed(self.layers, self.leaks, self.sheathing))
        problems = [*_problems(self), *_misplaced(self)]
        if problems:
            raise RefusedError("", problems)

    def __repr__(self) -> str:
        """Write a line for each element, and what else differs from the defaults."""
        rest = written(self, ("name", "layers")).removesuffix(")").partition("(")[2]
        lines = "".join(f"    {element!r},\n" for element in self.layers)
        return f"Wall({self.name!r}, [\n{lines}]{', ' if rest else ''}{rest})"

    @property
    def solids(self) -> tuple[Layer, ...]:
        """The layers with storage, outside to inside."""
        return tuple(e for e in self.layers if isinstance(e, Layer))

    @property
    def gaps(self) -> tuple[Gap, ...]:
        """The air gaps, outside to inside."""
        return tuple(e for e in self.layers if isinstance(e, Gap))

    @property
    def leaky(self) -> bool:
        """Whether anything gets into the wall besides diffusion."""
        return bool(self.leaks.all() or self.air_flow)

    def layer(self, name: str) -> Layer:
        """Return the layer of that name; raises `InputError` with near matches."""
        for layer in self.solids:
            if layer.name == name:
                return layer
        known = near_matches(name, [item.name for item in self.solids])
        raise InputError(f"wall '{self.name}': no layer '{name}'; {known}")

    @property
    def thickness(self) -> float:
        """Total thickness with gaps. [m]"""
        return sum(
            e.depth if isinstance(e, Gap) else e.thickness
            for e in self.layers
            if not isinstance(e, Membrane)
        )

    def _repr_html_(self) -> str:
        """The wall to scale with its elements, for a notebook.

        Drawing stands above walls in the import line, so it is fetched by name.
        """
        found: str = import_module("hygro.show.notebook").wall_html(self)
        return found

    def initial_of(self, layer: Layer) -> Initial:
        """State of a layer at the start."""
        return layer.initial or self.initial


def tight(wall: Wall) -> Wall:
    """Return the wall with nothing getting in."""
    return dataclasses.replace(wall, leaks=Leaks(), air_flow=None)


def unrained(wall: Wall) -> Wall:
    """Return the wall without driving rain."""
    dry = dataclasses.replace(
        wall.outside, rain="none", rain_factors=type(wall.outside.rain_factors)()
    )
    return dataclasses.replace(wall, outside=dry)


def _numbered(elements: tuple[Layer | Membrane | Gap, ...]) -> tuple[Layer | Membrane | Gap, ...]:
    """Number what is called by its material where that occurs again."""
    seen: dict[str, int] = {}
    found: list[Layer | Membrane | Gap] = []
    for element in elements:
        count = seen[element.name] = seen.get(element.name, 0) + 1
        again = count > 1 and not isinstance(element, Gap) and element.name == element.material.key
        found.append(
            dataclasses.replace(element, name=f"{element.name} {count}") if again else element
        )
    return tuple(found)


def _problems(wall: Wall) -> list[Problem]:
    names = [e.name for e in wall.layers]
    found = [
        Problem("layers", f"two elements are called '{name}'")
        for name in dict.fromkeys(names)
        if names.count(name) > 1
    ]
    for first, second in zip(wall.layers, wall.layers[1:], strict=False):
        if isinstance(first, Gap) and isinstance(second, Gap):
            found.append(Problem("layers", f"gaps '{first.name}' and '{second.name}' touch"))
    for end in (wall.layers[0], wall.layers[-1]):
        if isinstance(end, Gap):
            text = f"gap '{end.name}' is at a surface; it needs a layer on each side"
            found.append(Problem("layers", text))
    return found


def _misplaced(wall: Wall) -> list[Problem]:
    thickness = {layer.name: layer.thickness for layer in wall.solids}
    places = [
        (f"leaks.{kind}[{i}]", source)
        for kind in ("rain", "wetting", "air")
        for i, source in enumerate(getattr(wall.leaks, kind))
    ]
    named = [(f"{path}.at", source.at) for path, source in places]
    if wall.sheathing is not None:
        named.append(("sheathing", wall.sheathing))
    found = [
        Problem(path, f"'{name}': the wall has no such layer; {near_matches(name, thickness)}")
        for path, name in named
        if name not in thickness
    ]
    for path, source in places:
        most = thickness.get(source.at, math.inf)
        if source.depth is not None and source.depth > most * ROUND:
            text = f"{source.depth:g} m: must be at most {most:g} m, all of '{source.at}'"
            thin = "that layer is thinner than the leak goes in; is its thickness right?"
            cause = thin if most < DEPTH else "is it in mm?"
            found.append(Problem(f"{path}.depth", f"{text}; {cause}"))
    return found
