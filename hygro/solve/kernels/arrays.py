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
# what stands at a face, in lanes (1 or 0): a joint of layers, one that no liquid crosses, liquid,
# liquid from one material to another, sheets on its outer and inner side, a gap; it lies at or
# beyond the inner surface of the lane's wall
(JOINT, DRY, LIQUID, CONTACT, SHEET_A, SHEET_B, GAP, BEYOND, OWN_COLUMNS) = range(9)
# the integers say whether some lane has it; then the row of the gap, and whether lanes differ
GAP_ROW, MIXED, FACE_COLUMNS = range(8, 11)
OUTER, INNER = range(2)
# columns of a gap
DEPTH, GREY, H_SIDE, BETA_SIDE, OPENING, HEIGHT, WIND = range(7)

OK, STEP_TOO_SMALL = 0, 1

# columns of what sources bring to a cell, each with its slopes over T and u
TOOK, DRAIN, DROP, BROUGHT = 0, 3, 6, 9

# control of the march: see `control.control`
(STEP_T, STEP_U, NEWTON_T, NEWTON_U, NEWTON_CLOSE, NEWTON_LIMIT, MAX_STEP, MIN_STEP, JUMP,
 REJECT, DEADBAND) = range(11)  # fmt: skip
# where each lane is: hour (row of its loads), the hour to stop at, how many hours go on evenly from
# this one, how many times tighter these are computed, time in them, step and gamma step [s], step
# proposed next, stage (0, 1), its iterations, size of the update before, damping, mode; then what
# the sweeps found: largest updates, their sum, whether a cell freezes or saturates, square of the
# error; its status
(HOUR, LAST, SPAN, TIGHT, TIME, STEP, GDT, NEXT, STAGE, COUNT, BEFORE, RELAX, MODE, TOP_T, TOP_U,
 TOTAL, ROUGH, BENDS, ERROR_SUM, STATUS, LANE_ROWS) = range(21)  # fmt: skip
# modes of a lane: it rests, iterates, has closed its first or second stage, has lost its way, has
# taken its step, has ended an hour
IDLE, GO, FIRST, SECOND, LOST, TAKEN, HOUR_END = range(7)
# rows of the scratch lanes
NODE_ROWS = 9
FREEZING, IMPOSED_OUT, IMPOSED_IN, OPENINGS = range(4)


class WallArrays(NamedTuple):
    """Walls side by side as arrays; see `problem.build_problem`.

    The longest has n cells. tab holds the curves; cell (n+1, 12), contact (n+1,), sheet (n+1, 2),
    own (n+1, 8), layer (n,), cells (1,), gap (gaps, 7), source_length, side (2,) and air_density
    (1,) [kg/m³] have W lanes. Row n is the inner surface of each, with a copy of its last cell;
    what lies between is left out by `BEYOND`. The integers say what some lane has: faces, those
    at which gaps stand, sources, flags (freezing, imposed outside, imposed inside, any openings).
    """

    tab: np.ndarray
    cell: LaneArray
    contact: LaneArray
    sheet: LaneArray
    gap: LaneArray
    source_length: LaneArray
    side: LaneArray
    air_density: LaneArray
    own: LaneArray
    layer: LaneArray
    cells: LaneArray
    face: np.ndarray
    gaps: np.ndarray
    source: np.ndarray
    flags: np.ndarray


class HourlyLoads(NamedTuple):
    """Loads of W lanes: instants (W, N+1, 2, 4), means (W, N, 2, 2); the rest per hour.

    `even` says how many hours go on evenly from each: means stay, instants go straight.

    Those of a march start with the hour before its first: a jump is one from hour to hour.
    """

    instant: np.ndarray
    mean: np.ndarray
    gap_rate: np.ndarray
    wind: np.ndarray
    source: np.ndarray
    source_instant: np.ndarray
    air: np.ndarray
    even: np.ndarray


class Work(NamedTuple):
    """Scratch arrays of a march; see `turn.make_work`.

    `dirty` says which cells sources reach, its last row whether any does.
    """

    X: LaneArray
    X1: LaneArray
    X2: LaneArray
    D: LaneArray
    F: LaneArray
    L: LaneArray
    inverse: LaneArray
    w: LaneArray
    led: LaneArray
    gap_led: LaneArray
    cell_led: LaneArray
    dirty: np.ndarray
    node: LaneArray
    r: LaneArray
    y: LaneArray
    moved: LaneArray
    room: LaneArray
    base: LaneArray
    T: LaneArray
    u: LaneArray
    T1: LaneArray
    u1: LaneArray
    first_led: LaneArray
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
