"""The unknowns of the kernels: T and u of a cell, of the one outside it, of a surface.

A formula over duals (`hygro.solve.dual`) gives its slopes by itself.
"""

from __future__ import annotations

from hygro.solve.dual import renamed, slope_over, unknown, without

of_T, of_u = unknown("T"), unknown("u")
of_Ts, of_us = unknown("Ts"), unknown("us")
over_T, over_u = slope_over("T"), slope_over("u")
over_Ta, over_ua = slope_over("Ta"), slope_over("ua")
over_own_u = slope_over("u", "ua")
"""Of a cell on either side."""
over_Ts, over_us = slope_over("Ts"), slope_over("us")
outside = renamed(T="Ta", u="ua")
"""The same of the cell outside the one under work."""
holding_surface = without("Ts", "us")
holding_outside = without("Ta", "ua")
