"""The numbers that steer the march, with what each is for."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from hygro.constants import ZERO_CELSIUS
from hygro.solve.settings import Settings

TOLERANCE_T = 0.16
"""Local error of a step aimed at, by the first-order estimate; see docs/numerics.md. [K]"""
TOLERANCE_U = 2.8e-3
"""Same for the moisture potential. [1]"""
NEWTON_CLOSE = 0.5
"""A stage is closed when the next update would be below this many units. [1]"""
NEWTON_LIMIT = 25
JUMP = 0.8
"""How much a jump of the hourly means shortens the first step of the hour. [1/K]"""
DEADBAND = 0.35
"""Jumps up to this do not shorten the first step of an hour. [K]"""
REJECT = 2.0
"""A step is taken again when its error estimate is above this many tolerances. [1]"""
DRIFT = 0.005
"""Change of the water of a layer in a round up to which a year repeats itself: 0.07 %
by mass of 11 mm board. [kg/m²]"""
FIRST_STEP = 60.0
"""Step tried at the start of a run. [s]"""

GAMMA = 1.0 - math.sqrt(0.5)
"""Share of a step in a stage of the two-stage method (Alexander 1977, from memory). [1]"""

# bounds of the state while it is sought, and of one Newton update
T_LOW, T_HIGH = ZERO_CELSIUS - 79.0, ZERO_CELSIUS + 119.0
U_MIN = 1e-7
UPDATE_T, UPDATE_U = 25.0, 0.3
"""Largest change of a cell in one iteration. [K], [1]"""
KEEP, KEEP_GUESS = 0.1, 0.5
"""Share of its potential that a cell keeps at least in an update, in a guess. [1]"""

# Newton iteration of a stage
HOPELESS = 1e9
"""Sum of the updates above which a stage is given up. [tolerances]"""
BEND_FADES, BEND_RISES, BEND_LIMIT = 0.8, 1.02, 10.0
"""Newton leaves bend * size^2: how the bend that is learnt falls, rises, and its bound."""
BENT_SIZE = 10.0
"""Updates above this do not close a stage by the bend. [tolerances]"""
FREEZING_CLOSE = 1.0
"""While a cell freezes or thaws, a stage closes only when no cell there moves more heat than what
warms it by this without ice, and straight lines leave no more heat of freezing out. [units]"""
FREEZING_LEAST = 0.01
"""An update up to this is not asked what it leaves out. [units]"""
DRAINING_CLOSE = 1e-5
"""While a cell begins or ends to drain, a stage closes only when it moves by no more. [1]"""
SHRINKS, DAMP, UNDAMP, LEAST_DAMP = 0.7, 0.5, 2.0, 0.25
"""Updates should fall to this share; else the damping halves, down to a quarter."""
TURN_BACK = 0.5
"""Largest change of a cell against its last one, over that. [1]"""
LATE = 12
"""Iterations after which no change of a cell is larger than the least that it turned back by."""

# error of a step and the next step
MEAN_WEIGHT, WORST_WEIGHT = 0.5, 0.02
"""Weights of the mean over cells and of the worst cell in the square of the error. [1]"""
NEGLIGIBLE_STORAGE = 1e-6
"""A cell with less water per unit of potential follows its neighbours. [kg/m²]"""
FILM_UNIT = 0.1
"""Beyond free saturation the error of a step counts by mass where that is more: so much water as a
whole unit of the potential. That is the film of a layer unless said. [kg/m²]"""
SAFETY, SHRINK_LIMIT, NEXT_LOW, NEXT_HIGH = 0.85, 0.2, 0.3, 4.0
"""Share of the step that the estimate asks for; least and most that it may change by. [1]"""
RETRY = 0.25
"""Length of the next trial when a step is given up. [1]"""
BROKEN = 1e30
"""An error that is not below this is no number. [1]"""
TIGHTER = 30.0
"""How many times tighter steps are judged after an hour of even loads: they are so few. [1]"""

# the first step after a jump of the loads
ONSET_T, ONSET_RATE = 20.0, 2e-5
"""Temperature equivalent of a jump in water or air [K], and the jump [kg/(m²·s)] of half of it."""
RADIATION_H = 1.0
"""Added to the film when a jump of radiation is turned into kelvin. [W/(m²·K)]"""

# at the end of a chunk T and u are brought to the carried X
SETTLE, SETTLE_U = 8, 1e-3
"""Iterations, and largest change of the potential in each. [1]"""
SETTLED, HALVINGS = 1e-9, 60
"""Last change above which a cell has not come there [K]; halvings that then bring it there: from
the bounds of T to its last digit."""

# states that surfaces seek for themselves
SURFACE_TURNS, SURFACE_CLOSE, SURFACE_STEP = 12, 0.1, 20.0
"""Wet surface: iterations on the temperature, closing change, largest change. [K] One more step,
which carries the slopes, follows the last: of 0.1 K it leaves some 1e-6 K."""
SURFACE_CLOSE_U = 1e-3
"""Closing change of its potential with the temperature. [1]"""
POTENTIAL_TURNS, POTENTIAL_CLOSE = 60, 1e-5
"""Wet surface: iterations on its potential, closing change. [1]"""
HALF_TURNS, HALF_CLOSE, HALF_STEP = 12, 3e-4, 0.5
"""Face of a half cell: iterations, closing change of its potential, largest change. [1]"""
U_FACE, LEAST_RISE = 1.0, 1e-7
"""Face of a half cell: highest potential, least slope of its humidity. [1]"""
NEARLY_FULL = 0.995
"""Share of the saturation pressure at a face below which it takes in all that comes. [1]"""
DRY_TURNS, DRY_CLOSE = 6, 1e-5
"""Dry surface: iterations on the temperature, closing change. [K]"""


# below tolerance 1 first steps are shortened sooner than all others: what no step sees of a jump
# would be what remains of the error; chosen on four walls in weather, see docs/tried.md
KEEN_POWER, KEEN_LEAST = 4, 0.04
"""Share by which jumps count less: the tolerance to this power, and not below that."""
KEEN_DEADBAND = 3
"""Power of that share by which the dead band falls."""
KEEN_REJECT = 1.5
"""How far above `REJECT` an error may be instead."""


def control(settings: Settings) -> NDArray[np.float64]:
    """Numbers that steer the march, in the order of the kernels."""
    # the unit of Newton updates is the tolerance of a step, never looser than at tolerance 1
    tight = min(1.0, settings.tolerance)
    keen = max(tight**KEEN_POWER, KEEN_LEAST)
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
            JUMP / keen,
            REJECT * min(1.0 / keen, KEEN_REJECT),
            DEADBAND * keen**KEEN_DEADBAND,
        ]
    )
