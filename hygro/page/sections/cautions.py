"""What must be known before a number is used."""

from __future__ import annotations

from hygro.page.subject import Section, Subject
from hygro.show import words


def cautions(subject: Subject) -> Section:
    """Return the cautions of the weather, of leaks that were not tried, and the usual ones."""
    climates = [
        {str(k).removeprefix("climate_"): v for k, v in attrs.items()}
        for _, attrs in subject.records()
    ]
    of_weather = dict.fromkeys(line for c in climates for line in words.weather_cautions(c))
    bare = [f"'{item.name}'" for item in subject.walls if item.leaky is None]
    of_leaks = [words.NO_LEAKS.format(walls=", ".join(bare))] if bare else []
    if len(bare) < len(subject.walls) or subject.studies:
        of_leaks.append(words.LEAKS_DECIDE)
    lines = [*of_weather, *of_leaks, *words.CAUTIONS]
    return Section("cautions", "Cautions", "lines.html", {"lines": lines})
