"""What must stand beside every result: cautions and words. Owns the wording."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from hygro.study.compare import Compared
    from hygro.study.runs import Outcome

CAUTIONS = (
    "A comparative design aid, no proof of compliance: the local code, its edition and zone, and "
    "a licensed practitioner decide.",
    "One dimension: no studs, corners, flashings or workmanship; the leaks are assumptions.",
    "Fire, structure, termites, sound and air quality are not covered.",
    "A mould index is a design criterion, no statement on health; exceeding a criterion is not the "
    "same as rotting.",
)
"""Printed with every verdict."""

NO_LEAKS = (
    "No leaks were defined for {walls}: what happens when rain or indoor air gets in was not "
    "looked at, so nothing here says that it stays dry."
)
LEAKS_OFF = (
    "This run is without leaks: what happens when rain or indoor air gets in does not show, so "
    "nothing here says that the wall stays dry."
)
LEAKS_DECIDE = (
    "Every wall is judged tight, with its rain leaks, with rain past its water barrier, with its "
    "air leaks and with those of rain and air, as far as it has them; the worst decides."
)
ONE_SCENARIO = "One run of a wall: its other scenarios and records may decide otherwise."
SCENARIOS = {
    "tight": "without leaks",
    "rain": "with its rain leaks alone",
    "past": "with rain past its water barrier, alone",
    "air": "with its air leaks alone",
    "both": "with its rain and air leaks",
}
"""Words for the scenarios of `hygro.study.runs`."""


def leaks_word(item: Compared, outcome: Outcome) -> str:
    """The scenario of a run of a wall by its key; of a wall without leaks that none are set."""
    if item.leaky is None:
        return "none set"
    return outcome.run.scenario


def weather_cautions(attrs: dict[str, object]) -> list[str]:
    """Return what the kind of weather calls for, as the weather itself says."""
    caution = str(attrs.get("caution", ""))
    return [caution] if caution else []


def facing(azimuth: float) -> str:
    """Write a direction as a compass point, or in degrees between them."""
    points = ("N", "NE", "E", "SE", "S", "SW", "W", "NW")
    place, rest = divmod(azimuth % 360.0, 45.0)
    return points[int(place)] if rest == 0.0 else f"{azimuth:g}°"


def circumstances(outcomes: Sequence[Outcome]) -> str:
    """Return place, rooms, orientations, length and start of some runs, in one line."""
    rooms = dict.fromkeys(o.run.room_name for o in outcomes if o.run.room_name)
    sides = dict.fromkeys(facing(o.run.wall.azimuth) for o in outcomes)
    places = dict.fromkeys(o.run.place for o in outcomes if o.run.place)
    spans = dict.fromkeys(span(o) for o in outcomes)
    parts = [
        f"climate: {', '.join(places)}" if places else "",
        f"room: {', '.join(rooms)}" if rooms else "",
        f"facing {', '.join(sides)}",
        ", ".join(spans),
    ]
    return "; ".join(part for part in parts if part)


def span(outcome: Outcome) -> str:
    """Write how long a record is, and its first day."""
    return f"{in_years(outcome.years)} from {outcome.trace.day[0]}"


def in_years(years: float) -> str:
    """Write a length in years: "1 year", "2.5 years"."""
    number = f"{years:.3g}"
    return f"{number} year{'' if number == '1' else 's'}"


ORIGINS = {
    "published": "as published",
    "from memory": "not checked against the document",
    "common practice, no source": "common practice, no source",
    "set by the user": "set by the user",
}
"""Words for how surely a limit is known, on a client's page."""
MARKS = {
    "extract": "read in an extract of the code",
    "guide": "read in a trade guide",
    "from memory": ORIGINS["from memory"],
}
"""Words for how surely a value of the code tables is known."""
