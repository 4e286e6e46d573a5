"""Each wall to scale, its elements in numbers, its leaks, what a hand calculation says."""

from __future__ import annotations

from hygro.page.subject import Section, Subject, wall_of
from hygro.page.wording import for_clients
from hygro.quantities import FOOT
from hygro.show import by_hand, words
from hygro.show.converted import converted
from hygro.show.section import wall_section
from hygro.show.svg import svg
from hygro.study.compare import Compared
from hygro.types import Data
from hygro.units import System, show, unit_of
from hygro.wall.leaks import AirLeak, RainLeak, Source
from hygro.wall.wall import Wall


def walls(subject: Subject) -> Section:
    """Return the section."""
    system = subject.system
    data = {
        "walls": [_wall(subject, item) for item in subject.walls],
        "units": {
            "length": unit_of("length", system=system),
            "R": unit_of("thermal resistance", system=system),
            "permeance": unit_of("permeance", system=system),
            "T": converted("10 °C", system),
        },
    }
    answers = ("assembly", "orientation", "leak sources", "hand")
    return Section("walls", "Walls to scale", "walls.html", data, answers)


def _wall(subject: Subject, item: Compared) -> Data:
    system, wall, hand = subject.system, wall_of(item), item.tight.hand
    number = subject.number(item)
    return {
        "number": number,
        "name": item.name,
        "note": wall.note,
        "facing": words.facing(wall.azimuth),
        "drawing": svg(wall_section(wall, system=system), f"s{number}", _told(wall), least=480),
        "rows": [
            {
                "name": row.name,
                "made_of": converted(row.made_of, system),
                "thickness": show(row.thickness, "length", system=system, unit=False)
                if row.thickness
                else "–",
                "R": show(row.R, "thermal resistance", system=system, unit=False),
                "permeance": show(row.permeance, "permeance", system=system, unit=False),
            }
            for row in hand.rows
        ],
        "leaks": [converted(line, system) for line in leak_lines(wall, system)] or ["none defined"],
        "hand": [for_clients(line) for line in by_hand.hand_lines(hand, system=system)],
    }


def _told(wall: Wall) -> str:
    return f"Section of '{wall.name}', outside to inside: " + ", ".join(e.name for e in wall.layers)


def leak_lines(wall: Wall, system: System = "si") -> list[str]:
    """Return the leaks of a wall, one a line: what, where, how much."""
    told = [f"rain: {_share(x)}, {_at(x)}" for x in wall.leaks.rain]
    told += [
        f"one-off wetting: {x.mass:g} kg/m² after {x.after:g} h, {_at(x)}"
        for x in wall.leaks.wetting
    ]
    told += [f"room air: {_flow(x, system)}, {_at(x)}" for x in wall.leaks.air]
    return told + (["air flow straight through the wall"] if wall.air_flow else [])  # fmt: skip


def _share(leak: RainLeak) -> str:
    share = f"{100 * leak.fraction:g} % of the rain that strikes the wall"
    if leak.past_barrier is None:
        return share
    return f"{share}; {100 * leak.past_barrier:g} % past the water barrier in a run of its own"


def _at(source: Source) -> str:
    return f"into the {source.face} {1000 * source.depth:g} mm of '{source.at}'"


def _height(metres: float, system: System) -> str:
    return f"{metres / FOOT:.3g} ft" if system == "ip" else f"{metres:g} m"


def _flow(leak: AirLeak, system: System) -> str:
    """How much air, or by which pressures."""
    if leak.rate is not None:
        return f"{1000 * leak.rate:g} L/(s·m²), constant"
    wind = (
        f"wind coefficient {leak.wind_coefficient:g}"
        if leak.building_height is None
        else f"wind at {_height(leak.building_height, system)}, {leak.terrain} terrain"
    )
    return (
        f"{1000 * (leak.permeance or 0.0):g} L/(s·m²) at 1 Pa, exponent {leak.exponent:g}; stack "
        f"of {_height(leak.height, system)} above the neutral plane, fans "
        f"{leak.fan_pressure:g} Pa, {wind}"
    )
