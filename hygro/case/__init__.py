"""Case files: the only package that reads them. Text in, checked values or one error with all."""

from hygro.case.climate import climate, prepare
from hygro.case.criteria import judge_stored, stored_judging
from hygro.case.errors import CaseError
from hygro.case.judging import judging
from hygro.case.locate import built_in, find
from hygro.case.model import Case, CaseWall, from_data, load
from hygro.case.review import Review, review
from hygro.case.start import families, start
from hygro.paths import set_value
from hygro.problems import Problem

__all__ = [
    "Case",
    "CaseError",
    "CaseWall",
    "Problem",
    "Review",
    "built_in",
    "climate",
    "families",
    "find",
    "from_data",
    "judge_stored",
    "judging",
    "load",
    "prepare",
    "review",
    "set_value",
    "start",
    "stored_judging",
]
