"""Numbers in lanes: W floats side by side, handled by one instruction where the processor can.

Owns the value type `Lanes` of the compiled kernels, the arrays that hold such values, and the
operations on both. Knows nothing of walls. A width of 1 compiles to plain floats. All operations
act on each lane by itself and round as IEEE 754 says (tables and `fma` with fused multiply-adds):
a lane's result does not depend on the width or on its neighbours.

Where the compiler is switched off, arrays of width 1 give plain Python floats.
"""

from hygro.solve.lanes.access import AT_ONCE, fetch, rows_at_once, width_of
from hygro.solve.lanes.arrays import LaneArray, each_on_lines, lane_array, on_lines
from hygro.solve.lanes.curves import (
    fetch_4,
    fetch_8,
    place_in_4,
    place_in_8,
    read_4,
    read_8,
    row_of_1,
    rows_of_4,
    rows_of_8,
)
from hygro.solve.lanes.kinds import (
    INT,
    WIDTH,
    Builder,
    Function,
    LaneArrayType,
    Lanes,
    Mask,
    Number,
    Row,
    Type,
    Types,
    Value,
    Values,
)
from hygro.solve.lanes.machine import hidden
from hygro.solve.lanes.operations import (
    call_intrinsic,
    compare,
    fma,
    least,
    most,
    negative,
    some,
    splat,
    where,
)

__all__ = [
    "AT_ONCE",
    "INT",
    "WIDTH",
    "Builder",
    "Function",
    "LaneArray",
    "LaneArrayType",
    "Lanes",
    "Mask",
    "Number",
    "Row",
    "Type",
    "Types",
    "Value",
    "Values",
    "call_intrinsic",
    "compare",
    "each_on_lines",
    "fetch",
    "fetch_4",
    "fetch_8",
    "fma",
    "hidden",
    "lane_array",
    "least",
    "most",
    "negative",
    "on_lines",
    "place_in_4",
    "place_in_8",
    "read_4",
    "read_8",
    "row_of_1",
    "rows_at_once",
    "rows_of_4",
    "rows_of_8",
    "some",
    "splat",
    "where",
    "width_of",
]
