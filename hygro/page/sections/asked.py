"""What standards ask of a report, each line answered with a place on the page, or with why not."""

from __future__ import annotations

from collections.abc import Sequence

from hygro.data_files import table
from hygro.page.subject import Section
from hygro.types import Data

BY_AUTHOR = "to be written by whoever answers for the report"


def asked(sections: Sequence[Section]) -> Section:
    """Return the check list for the sections of a page."""
    answered = {answer: s for s in reversed(sections) for answer in s.answers}
    lacking = {name: reason for s in sections for name, reason in s.lacks.items()}
    documents: dict[str, list[Data]] = {}
    for row in table("hygro.page", "asked")["row"]:
        found = [(name, answered.get(name)) for name in row["answer"]]
        places = list({s.key: (s.key, s.title) for _, s in found if s is not None}.values())
        reasons = [lacking.get(name, BY_AUTHOR) for name, s in found if s is None]
        documents.setdefault(row["document"], []).append(
            {"asks": row["asks"], "places": places, "reasons": list(dict.fromkeys(reasons))}
        )
    data = {"documents": list(documents.items())}
    return Section("asked", "What standards ask of a report", "asked.html", data)
