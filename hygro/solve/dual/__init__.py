"""Numbers that carry their slopes: a value in lanes and its derivatives over named unknowns.

Owns the value type `DualType` of the compiled kernels and the operations on it: a formula written
with it gives its exact derivatives. The type says which unknowns (`seeds`) a value depends on, so
that no zero is carried or multiplied. Knows nothing of walls.

Where the compiler is switched off, `Dual` does the same with plain numbers.
"""

from hygro.solve.dual.kinds import Dual, DualType, value
from hygro.solve.dual.making import chain, renamed, slope_over, unknown, without

__all__ = ["Dual", "DualType", "chain", "renamed", "slope_over", "unknown", "value", "without"]
