"""The arrays that the kernels read and write, and what stands in which column. Decides nothing."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from hygro.solve.lanes import LaneArray

# columns of a cell: thickness, highest u before it drains, its block, dry heat capacity, water at
# free saturation, 1 over it, ice over full pores that shuts them (0: nothing does), water at the
# highest u, least heat resistivity, liquid potential at free saturation, way from the outer face to
# the node, and how many times that the way on to the inner face is
(DX, CAP, BLOCK, RHO_C, W_FREE, PER_FREE, PER_MAX, W_CAP, LEAST_R, FULL_TH, WAY, WAY_ON,
 CELL_COLUMNS) = range(13)  # fmt: skip
# columns of the face integers; of the sheets at its outer and inner side
KIND, SHEET_A, SHEET_B, LIQUID, GAP_INDEX = range(5)
OUTER, INNER = range(2)
# columns of a gap
DEPTH, GREY, H_SIDE, BETA_SIDE, OPENING, HEIGHT, WIND = range(7)

OK, STEP_TOO_SMALL = 0, 1

# columns of what sources bring to a cell, each with its slopes over T and u
TOOK, DRAIN, DROP, BROUGHT = 0, 3, 6, 9

# control of the march: see `control.control`
(STEP_T, STEP_U, NEWTON_T, NEWTON_U, NEWTON_CLOSE, NEWTON_LIMIT, MAX_STEP, MIN_STEP, JUMP,
 REJECT, DEADBAND) = range(11)  # fmt: skip
# where each lane is: hour, time in it, step and gamma step [s], step proposed next, stage (0, 1),
# iterations of it, size of the update before, damping, mode; then what the sweeps found: largest
# updates, their sum, whether a cell freezes or saturates, square of the error; its status
(HOUR, TIME, STEP, GDT, NEXT, STAGE, COUNT, BEFORE, RELAX, MODE, TOP_T, TOP_U, TOTAL, ROUGH, BENDS,
 ERROR_SUM, STATUS, LANE_ROWS) = range(18)  # fmt: skip
# modes of a lane: it rests, iterates, has closed its first or second stage, has lost its way, has
# taken its step, has ended an hour
IDLE, GO, FIRST, SECOND, LOST, TAKEN, HOUR_END = range(7)
# rows of the scratch lanes
NODE_ROWS = 9
FREEZING, IMPOSED_OUT, IMPOSED_IN, OPENINGS = range(4)


class WallArrays(NamedTuple):
    """Walls of one structure as arrays; see `problem.build_problem`.

    tab holds the curves; cell (n, 12), contact (n+1,), sheet (n+1, 2), gap (gaps, 7),
    source_length, side (2,) and air_density (1,) [kg/m³] have W lanes. The integers are the
    structure that the lanes share: faces, sources, layers, flags (freezing, imposed outside,
    imposed inside, any openings).
    """

    tab: np.ndarray
    cell: LaneArray
    contact: LaneArray
    sheet: LaneArray
    gap: LaneArray
    source_length: LaneArray
    side: LaneArray
    air_density: LaneArray
    face: np.ndarray
    source: np.ndarray
    layer: np.ndarray
    flags: np.ndarray


class HourlyLoads(NamedTuple):
    """Loads of W lanes: instants (W, N+1, 2, 4), means (W, N, 2, 2); the rest per hour."""

    instant: np.ndarray
    mean: np.ndarray
    gap_rate: np.ndarray
    wind: np.ndarray
    source: np.ndarray
    source_instant: np.ndarray
    air: np.ndarray


class Work(NamedTuple):
    """Scratch arrays of a march; see `march.make_work`."""

    X: LaneArray
    X1: LaneArray
    X2: LaneArray
    D: LaneArray
    F: LaneArray
    J: LaneArray
    Dinv: LaneArray
    Wm: LaneArray
    led: LaneArray
    gap_led: LaneArray
    cell_led: LaneArray
    dirty: np.ndarray
    node: LaneArray
    r: LaneArray
    y: LaneArray
    base: LaneArray
    T: LaneArray
    u: LaneArray
    b: LaneArray
    stage_led: LaneArray
    step_led: LaneArray
    hour_led: LaneArray
    gap_rate: LaneArray
    source_rate: LaneArray
    air: LaneArray
    room_p: LaneArray
    at: LaneArray


class State(NamedTuple):
    """What a march carries from hour to hour: T, u, the conserved X, and the step memory."""

    T: LaneArray
    u: LaneArray
    X: LaneArray
    slope: LaneArray
    memory: LaneArray
