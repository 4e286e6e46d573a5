"""The arithmetic of the engine: curves, fluxes, Jacobian, stages, steps. Arrays and floats only.

One subject a file. Knows no wall, weather, file or message: a kernel leaves a status and where it
happened.

Conventions
-----------
One call marches W walls of the same structure, one in each lane (`hygro.solve.lanes`); W = 1 is a
single run. The lanes share the arithmetic and nothing else: each is at a time, step and iteration
of its own, so a wall's result has the same bits alone and in company.

Cells run from outside (0) to inside (n-1); face f lies on the outer side of cell f, so that face 0
is the outdoor and face n the indoor surface. Fluxes are positive inward. The unknowns of a cell are
its temperature T [K] and moisture potential u [1] (see `hygro.solve.tables`); X = (enthalpy [J/m²],
water [kg/m²]) is what is conserved, F = dX/dt. 2x2 blocks are stored as 4 numbers
(energy-T, energy-u, water-T, water-u). A name x_T or x_u is the slope of x over T or u.
"""

from __future__ import annotations
