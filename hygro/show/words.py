"""What must stand beside every result: cautions and the words of a verdict. Owns the wording."""

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

NO_LEAKS = (
    "No leaks were defined for {walls}: what happens when rain or indoor air gets in was not "
    "looked at, so nothing here says that it stays dry."
)
LEAKS_DECIDE = "Results without leaks are shown for comparison only; the verdict counts both runs."


def weather_cautions(attrs: dict[str, object]) -> list[str]:
    """Return what the kind of weather calls for, as the weather itself says."""
    caution = str(attrs.get("caution", ""))
    return [caution] if caution else []


def outcome_word(passed: bool | None) -> str:
    """Return the word for a verdict; never "dry" or "safe"."""
    return {True: "within limits", False: "fails", None: "not judged"}[passed]
