"""What must stand beside every result: cautions and words. Owns the wording."""

from __future__ import annotations

CAUTIONS = (
    "A comparative design aid, no proof of compliance: the local code, its edition and zone, and "
    "a licensed practitioner decide.",
    "One dimension: no studs, corners, flashings or workmanship; the leaks are assumptions.",
    "Fire, structure, termites, sound and air quality are not covered.",
    "A mould index is a design criterion, no statement on health; exceeding a criterion is not the "
    "same as rotting.",
)
"""Printed with every verdict."""

AVERAGE_YEAR = (
    "The weather is a typical, average year: such years are unsuitable for extreme moisture loads."
)
GENERATED = "The weather is generated from monthly normals: plausible, but never measured."
NO_LEAKS = (
    "No leaks were defined for {walls}: what happens when rain or indoor air gets in was not "
    "looked at, so nothing here says that it stays dry."
)
LEAKS_DECIDE = (
    "Every wall is judged tight, with its rain leaks, with its air leaks and with both, as far as "
    "it has them; the worst decides."
)
ONE_SCENARIO = "One run of a wall: its other scenarios and records may decide otherwise."
SCENARIOS = {
    "tight": "without leaks",
    "rain": "with its rain leaks alone",
    "air": "with its air leaks alone",
    "both": "with its rain and air leaks",
}
"""Words for the scenarios of `hygro.study.plan`."""


def weather_cautions(attrs: dict[str, object]) -> list[str]:
    """Return what the kind of weather calls for, from the attributes of the climate."""
    kind = str(attrs.get("kind", ""))
    if kind == "typical year":
        return [AVERAGE_YEAR]
    return [GENERATED] if kind == "generated" else []


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
