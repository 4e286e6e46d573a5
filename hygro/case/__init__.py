"""Case files: the only package that reads them. Text in, checked values or one error with all."""

from hygro.case.climate import climate, prepare
from hygro.case.criteria import judge_stored
from hygro.case.limits import verdict_along
from hygro.case.locate import built_in, find
from hygro.case.model import Case, CaseWall, from_data, load
from hygro.case.template import set_value
from hygro.case.trouble import CaseError, Problem

__all__ = [
    "Case",
    "CaseError",
    "CaseWall",
    "Problem",
    "built_in",
    "climate",
    "find",
    "from_data",
    "judge_stored",
    "load",
    "prepare",
    "set_value",
    "verdict_along",
]
