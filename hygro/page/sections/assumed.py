"""What was assumed in the runs, and what no run here looks at."""

from __future__ import annotations

from hygro.page.subject import Section, Subject, stored_list
from hygro.page.wording import for_clients
from hygro.show.converted import converted

NOT_MODELLED = (
    "Two and three dimensions: studs, corners, window heads, floor edges, flashings; joints, "
    "framing and attachments enter U and point temperatures alone.",
    "Spread of leaked water along the wall: a leak wets the whole area of its layer alike, a spot "
    "on the wall is wetter and dries sooner.",
    "Water that runs inside the wall from one height to another, and water held back at its foot.",
    "Hysteresis of sorption, ageing, salts, swelling, algae; materials stay as they were given.",
    "Workmanship: the leaks are assumptions, what a joint or a tape lets through is not computed.",
    "Fire, structure, sound, termites, indoor air quality, health.",
)
"""What no run of the program looks at."""


def assumed(subject: Subject) -> Section:
    """Return the assumptions that the records state, those of all walls first."""
    stated = {
        item.name: list(
            dict.fromkeys(
                line
                for part in subject.gathered.evidence[item.name].values()
                for line in stored_list(part.attrs, "assumptions")
            )
        )
        for item in subject.walls
    }
    shared = [
        line
        for line in next(iter(stated.values()))
        if all(line in lines for lines in stated.values())
    ]
    own = {name: [line for line in lines if line not in shared] for name, lines in stated.items()}

    def told(lines: list[str]) -> list[str]:
        return [for_clients(converted(line, subject.system)) for line in lines]

    data = {
        "shared": told(shared),
        "own": [(name, told(lines)) for name, lines in own.items() if lines],
    }
    return Section("assumptions", "Assumptions", "assumed.html", data, ("assumptions",))


def not_modelled(_: Subject) -> Section:
    """Return what was not modelled."""
    data = {"lines": list(NOT_MODELLED)}
    return Section("not-modelled", "Not modelled", "lines.html", data, ("limits of the model",))
