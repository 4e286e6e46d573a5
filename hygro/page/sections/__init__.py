"""The sections of the page, one a file, in their order."""

from hygro.page.sections import asked
from hygro.page.sections.assumed import assumed, not_modelled
from hygro.page.sections.cautions import cautions
from hygro.page.sections.climates import climates
from hygro.page.sections.comparison import comparison
from hygro.page.sections.evidence import evidence
from hygro.page.sections.inputs import inputs
from hygro.page.sections.materials import materials
from hygro.page.sections.numerics import numerics
from hygro.page.sections.origin import origin
from hygro.page.sections.studies import studies
from hygro.page.sections.verdicts import verdicts
from hygro.page.sections.walls import walls
from hygro.page.subject import Section, Subject

SECTIONS = (
    verdicts,
    cautions,
    comparison,
    walls,
    evidence,
    climates,
    inputs,
    materials,
    numerics,
    origin,
    assumed,
    not_modelled,
)
"""Makers of the sections of walls; each takes the subject. The check list comes after them."""
BESIDE = 3
"""Place of the studies among them: after verdict, cautions and comparison."""


def sections_of(subject: Subject) -> list[Section]:
    """Return the sections of a page in their order; of studies alone where there are no walls."""
    found = studies(subject)
    if not subject.walls:
        return [*found, cautions(subject), not_modelled(subject)]
    made = [make(subject) for make in SECTIONS]
    made[BESIDE:BESIDE] = found
    return [*made, asked.asked(made)]
