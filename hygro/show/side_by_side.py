"""Walls of a comparison side by side, best first. Owns the columns, and what they mean."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from rich.console import JustifyMethod
from rich.table import Table

from hygro.assess.criteria import in_words
from hygro.assess.verdict import deciding_words, reserve_words
from hygro.show.by_hand import room_words
from hygro.show.converted import converted
from hygro.show.tables import listed, moisture, number, percent, plain
from hygro.show.words import facing, leaks_word
from hygro.study.reserve import bears, per_cent
from hygro.units import System, show, unit_of

if TYPE_CHECKING:
    from hygro.study.compare import Compared
    from hygro.study.hand import HandNumbers
    from hygro.study.runs import Outcome

_COLUMNS: tuple[tuple[str, int, JustifyMethod], ...] = (
    ("Leaks", 8, "left"),
    ("Verdict", 16, "left"),
    ("Reserve", 8, "right"),
    ("Decided by", 20, "left"),
    ("MC\n30 d %", 6, "right"),
    ("skin\n%", 4, "right"),
    ("Mould\nindex", 5, "right"),
    ("RH\n30 d %", 6, "right"),
)
"""Headings, letters and sides of the comparison: with a space between them 80 letters."""


def comparison(compared: Sequence[Compared], *, system: System = "si") -> list[Table]:
    """Return the side-by-side table: its head, and a part for each wall, best first."""
    parts = [_part("Comparison, best first")]
    parts[0].show_header = True
    for rank, item in enumerate(compared, start=1):
        part = _part(f"{rank} {item.name}{_decides(item)}")
        for outcome in item.outcomes:
            style = "bold" if outcome.verdict.passed is False else ""
            part.add_row(leaks_word(item, outcome), *_cells(outcome, system), style=style)
        parts.append(part)
    return parts


def _part(title: str) -> Table:
    """One part; all have the same columns, so that they stand below each other."""
    part = Table(
        title=title,
        box=None,
        title_justify="left",
        title_style="bold",
        padding=(0, 1, 0, 0),
        pad_edge=False,
        show_header=False,
    )
    for heading, width, side in _COLUMNS:
        part.add_column(heading, width=width, justify=side, overflow="fold")
    return part


def _decides(item: Compared) -> str:
    """Class of a wall with leaks, the scenario that it comes from, and the humidity it bears."""
    decided = f"decided by '{item.deciding.run.scenario}'"
    parts = [] if item.leaky is None else [item.outcome, decided]
    parts += [item.reserve.words] if item.reserve is not None and item.reserve.words else []
    return f": {', '.join(parts)}" if parts else ""


def _cells(outcome: Outcome, system: System) -> list[str]:
    numbers = outcome.numbers
    return [
        outcome.verdict.outcome,
        converted(reserve_words(outcome.verdict), system),
        deciding_words(outcome.verdict),
        moisture(numbers["mc_30d_max"]),
        moisture(numbers["mc_30d_skin_max"]),
        number(numbers["mould_index_max"], 1),
        percent(numbers["rh_30d_max"]),
    ]


def walls(compared: Sequence[Compared], *, system: System = "si") -> Table:
    """Return what a hand calculation says of each wall, in the order of the comparison."""
    u_unit = unit_of("thermal transmittance", system=system)
    table = listed(
        "Walls by hand",
        ("Wall", "left"),
        ("Facing", "left"),
        (f"U\n{u_unit}", "right"),
        (f"U clear\n{u_unit}", "right"),
        ("R outb.\n%", "right"),
        ("least\n%", "right"),
    )
    for rank, item in enumerate(compared, start=1):
        hand = item.tight.hand
        table.add_row(
            f"{rank} {item.name}",
            facing(item.tight.run.wall.azimuth),
            show(hand.U_effective, "thermal transmittance", system=system, unit=False),
            show(hand.U, "thermal transmittance", system=system, unit=False),
            f"{100 * hand.outboard_share:.0f}",
            f"{100 * hand.least_share:.0f}",
        )
    return table


def legend(compared: Sequence[Compared], *, system: System = "si") -> list[str]:
    """Return what the columns by hand mean, with the winter that they are computed for."""
    winters = {_winter(item.tight.hand, system): None for item in compared}
    rooms = {room_words(item.tight.hand): None for item in compared}
    short = [
        f"'{item.name}'" for item in compared if item.tight.hand.code and item.tight.hand.code.below
    ]
    below = [f"below the code's R outside of the framing (see `run`): {', '.join(short)}"]
    return [
        *rooms,
        *(below if short else []),
        converted("MC: of the whole sheathing, skin: of its wetter outer or inner 3 mm", system),
        "U with joints, framing and attachments, U clear without. R outb.: share of R outside the "
        "inner face of the sheathing; least: the least share that keeps this face at the indoor "
        "dew point in the three coldest months: " + "; ".join(winters),
    ]


def _winter(hand: HandNumbers, system: System) -> str:
    def say(value: float) -> str:
        return show(value, "temperature", system=system)

    return (
        f"outdoors {say(hand.winter_outdoor)}, indoors {say(hand.winter_indoor)} and "
        f"{100 * hand.winter_rh:.0f} % RH"
    )


def reserves(compared: Sequence[Compared], *, system: System = "si") -> Table:
    """Return how much more each wall bears, in the order of the comparison."""

    def resistances(value: float) -> str:
        return show(value, "thermal resistance", system=system)

    rows = [
        (
            f"{rank} {item.name}",
            bears(item.reserve.winter_rh, per_cent),
            bears(item.reserve.rain, per_cent),
            bears(item.reserve.outboard, resistances, least=True),
        )
        for rank, item in enumerate(compared, start=1)
        if item.reserve is not None
    ]
    headings = ("Wall", "Highest\nwinter RH", "Highest\nrain share", "Least R\noutboard")
    return plain("Reserve: what each wall bears, one number at a time", headings, rows)


def reserve_lines(compared: Sequence[Compared]) -> list[str]:
    """Return what fails just beyond the reserve of each wall, and what the numbers are."""
    lines = [
        "Mean indoor RH of the three coldest months, by vapour added in cold weather; share of the "
        "driving rain that leaks; R of the insulation outward of the sheathing, as cold as in U. "
        "'≥' and '≤': the end of the range tried; none: not even its mild end; –: not asked."
    ]
    for item in compared:
        for name, bound in item.reserve.bounds.items() if item.reserve is not None else ():
            if bound is not None and bound.blamed:
                words = {"winter_rh": "RH", "rain": "rain", "outboard": "R outboard"}[name]
                lines.append(f"{item.name}, beyond its {words}: {in_words(bound.blamed[0])}")
    return lines
