"""The sections of the page, one a file, in their order."""

from hygro.page.sections.assumed import assumed, not_modelled
from hygro.page.sections.cautions import cautions
from hygro.page.sections.climates import climates
from hygro.page.sections.comparison import comparison
from hygro.page.sections.evidence import evidence
from hygro.page.sections.inputs import inputs
from hygro.page.sections.materials import materials
from hygro.page.sections.numerics import numerics
from hygro.page.sections.origin import origin
from hygro.page.sections.verdicts import verdicts
from hygro.page.sections.walls import walls

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
"""Makers of sections; each takes the subject. The check list comes after them."""
