"""Numbers by hand of a wall: its layers, its winter, what the code asks of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.table import Table

from hygro.show.converted import converted
from hygro.show.tables import listed
from hygro.show.words import MARKS
from hygro.units import System, show, unit_of

if TYPE_CHECKING:
    from hygro.study.hand import HandNumbers


def hand(numbers: HandNumbers, *, system: System = "si") -> Table:
    """Return the layers with R and permeance, outside to inside."""
    table = listed(
        "Layers, outside to inside",
        ("Layer", "left"),
        ("Made of", "left"),
        (f"Thickness\n{unit_of('length', system=system)}", "right"),
        (f"R\n{unit_of('thermal resistance', system=system)}", "right"),
        (f"Permeance\n{unit_of('permeance', system=system)}", "right"),
    )
    for row in numbers.rows:
        table.add_row(
            row.name,
            converted(row.made_of, system),
            show(row.thickness, "length", system=system, unit=False) if row.thickness else "–",
            show(row.R, "thermal resistance", system=system, unit=False),
            show(row.permeance, "permeance", system=system, unit=False),
        )
    return table


def hand_lines(numbers: HandNumbers, *, system: System = "si") -> list[str]:
    """Return the hand numbers that stand beside the simulation, in words."""

    def say(value: float, kind: str) -> str:
        return show(value, kind, system=system)

    def both(U: float) -> str:
        R = say(1 / U, "thermal resistance")
        # "R-35" says R already
        return f"U {say(U, 'thermal transmittance')}, {R if R.startswith('R') else f'R {R}'}"

    return [
        f"{both(numbers.U)} from air to air, clear wall; with its joints, framing and attachments "
        f"{both(numbers.U_effective)}",
        f"share of R outside the inner face of '{numbers.sheathing}': "
        f"{100 * numbers.outboard_share:.0f} %; {100 * numbers.least_share:.0f} % would keep it at "
        f"the indoor dew point in the three coldest months",
        f"three coldest months: outdoors {say(numbers.winter_outdoor, 'temperature')}, indoors "
        f"{say(numbers.winter_indoor, 'temperature')} and {100 * numbers.winter_rh:.0f} % RH; that "
        f"face {say(numbers.face_temperature, 'temperature')}, indoor air condenses there from "
        f"{100 * numbers.highest_rh:.0f} % RH on",
        room_words(numbers),
        *code_lines(numbers, system=system),
        *(converted(note, system) for note in numbers.notes),
    ]


def room_words(numbers: HandNumbers) -> str:
    """Return how humid the room is, which decides more than the wall."""
    return (
        f"the room: {100 * numbers.winter_rh:.0f} % RH in the mean of the three coldest months, "
        f"{100 * numbers.shoulder_rh:.0f} % in the shoulder seasons"
    )


def code_lines(numbers: HandNumbers, *, system: System = "si") -> list[str]:
    """Return what the residential code asks of such a wall; never that it is met."""
    code = numbers.code
    if code is None:
        return []

    def say(value: float) -> str:
        return show(value, "thermal resistance", system=system)

    what = "none" if code.retarder == "open" else f"class {code.retarder}"
    lines = [
        f"code, IRC {code.edition}, wood frame, zone {code.zone} by this weather: vapour retarder "
        f"inside {what}, permitted: {code.permitted}"
    ]
    if code.least is None:
        return [*lines, f"code: no least R outside: {code.place}"]
    verb = "below the code's R" if code.below else "a code value is no proof that a wall stays dry"
    return [
        *lines,
        f"code: {say(code.least)} outside of the framing ({code.place}, "
        f"{MARKS.get(code.mark, code.mark)}); this wall has {say(code.outboard)} as rated: {verb}",
    ]
