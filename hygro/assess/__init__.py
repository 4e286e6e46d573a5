"""Ratings of a result Dataset: moisture content, mould, condensation, decay, corrosion, frost,
drying, and the verdict. Works from the Dataset alone; knows nothing of the solver, and of the wall
what the Dataset carries with it. Loops over the hours are compiled; the compiler keeps their code
by the file they stand in, so they call loops of their own file only.
"""

from __future__ import annotations

from hygro.assess.accessor import RecordAccessor
from hygro.assess.balance import YearlyBalance, yearly_balance
from hygro.assess.choose import criterion_at, with_changes
from hygro.assess.condensation import (
    Condensation,
    RunOff,
    condensate,
    face_condensate,
    face_condensation,
    free_water,
    interface_condensation,
    loose_condensate,
    run_off,
)
from hygro.assess.criteria import CRITERIA, Criterion, Finding, Rated
from hygro.assess.criteria.sets import RULE_SETS
from hygro.assess.decay import brown_rot, daily_dose, decay_rating
from hygro.assess.formed import face_formed, formed, formed_per_year, forming
from hygro.assess.frost import FreezeThaw, freeze_thaw
from hygro.assess.growth import Decay, decay, decay_dose, mould
from hygro.assess.humidity import (
    CorrosionHours,
    SurfaceHumidity,
    corrosion,
    surface_humidity,
    surface_state,
)
from hygro.assess.judge import verdict
from hygro.assess.metal import MetalHours, MetalRating, metal_rating, metal_ratings
from hygro.assess.moisture import days_to_dry, hours_above, moisture_content
from hygro.assess.mould import mould_index
from hygro.assess.places import find_sheathing, surfaces
from hygro.assess.series import (
    Exceedance,
    Peak,
    drying_days,
    exceedance,
    running,
    running_mean,
)
from hygro.assess.summary import SUMMARY, summary
from hygro.assess.verdict import Verdict

__all__ = [
    "CRITERIA",
    "RULE_SETS",
    "SUMMARY",
    "Condensation",
    "CorrosionHours",
    "Criterion",
    "Decay",
    "Exceedance",
    "Finding",
    "FreezeThaw",
    "MetalHours",
    "MetalRating",
    "Peak",
    "Rated",
    "RecordAccessor",
    "RunOff",
    "SurfaceHumidity",
    "Verdict",
    "YearlyBalance",
    "brown_rot",
    "condensate",
    "corrosion",
    "criterion_at",
    "daily_dose",
    "days_to_dry",
    "decay",
    "decay_dose",
    "decay_rating",
    "drying_days",
    "exceedance",
    "face_condensate",
    "face_condensation",
    "face_formed",
    "find_sheathing",
    "formed",
    "formed_per_year",
    "forming",
    "free_water",
    "freeze_thaw",
    "hours_above",
    "interface_condensation",
    "loose_condensate",
    "metal_rating",
    "metal_ratings",
    "moisture_content",
    "mould",
    "mould_index",
    "run_off",
    "running",
    "running_mean",
    "summary",
    "surface_humidity",
    "surface_state",
    "surfaces",
    "verdict",
    "with_changes",
    "yearly_balance",
]
