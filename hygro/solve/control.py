"""The numbers that steer the march, with what each is for."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from hygro.solve.settings import Settings

TOLERANCE_T = 0.08
"""Local error of a step aimed at, by the first-order estimate; gives about 0.005 K r.m.s. [K]"""
TOLERANCE_U = 1.4e-3
"""Same for the moisture potential; gives about 1e-4 r.m.s. in rh. [1]"""
NEWTON_SHARE = 0.5
"""Unit of the Newton updates over the step tolerance; never looser than at tolerance 1. [1]"""
NEWTON_CLOSE = 0.5
"""A stage is closed when the next update would be below this many units. [1]"""
NEWTON_LIMIT = 25
JUMP = 0.4
"""How much a jump of the hourly means shortens the first step of the hour. [1/K]"""
REJECT = 2.0
"""A step is taken again when its error estimate is above this many tolerances. [1]"""
FIRST_STEP = 60.0
"""Step tried at the start of a run. [s]"""


def control(settings: Settings) -> NDArray[np.float64]:
    """Numbers that steer the march, in the order of the kernels."""
    tight = NEWTON_SHARE * min(1.0, settings.tolerance)
    return np.array(
        [
            TOLERANCE_T * settings.tolerance,
            TOLERANCE_U * settings.tolerance,
            TOLERANCE_T * tight,
            TOLERANCE_U * tight,
            NEWTON_CLOSE,
            NEWTON_LIMIT,
            settings.max_step,
            settings.min_step,
            JUMP,
            REJECT,
        ]
    )
