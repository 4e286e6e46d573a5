"""What one thread does with its wall: the kernels of the engine on its part of the tiles."""

from __future__ import annotations

from hygro.solve.card.own_series import own_series
from hygro.solve.card.tiles import of_thread
from hygro.solve.kernels.compiler import compiled
from hygro.solve.kernels.march import march
from hygro.solve.kernels.report import report


@compiled
def wall_of(pb, of, g):
    """The arrays of wall g: the last row of `of` says where they lie among those laid out."""
    return of_thread(pb, of[8, g])


@compiled
def march_wall(g, pb, ld, of, states, works, control, results, tallies):
    """March wall g through the hours of its loads, to its row LAST; see `kernels.march.march`."""
    st, out, tally = of_thread(states, g), of_thread(results, g), of_thread(tallies, g)
    for i in range(len(st.T)):
        out.T[i], out.u[i] = st.T[i], st.u[i]
    march(
        wall_of(pb, of, g), own_series(ld, of, g), st, of_thread(works, g), control, out.T, out.u,
        out.ledger, out.gap_rate, tally.counters, tally.where,
    )  # fmt: skip


@compiled
def report_wall(g, pb, ld, of, hours, works, results):
    """Curves and interfaces of wall g at some instants; see `kernels.report.report`."""
    out = of_thread(results, g)
    report(
        wall_of(pb, of, g), own_series(ld, of, g), hours, of_thread(works, g), out.T, out.u,
        out.gap_rate, out.rh, out.w, out.ice, out.interface_T, out.interface_p, out.gap_T,
        out.gap_p,
    )  # fmt: skip


@compiled
def sum_wall(g, hours, results, sums):
    """Add the ledger of some hours of wall g, and its magnitudes, to the sums of its run."""
    out, total = of_thread(results, g), of_thread(sums, g)
    entries = len(total.totals)
    for e in range(entries):
        once, size = 0.0 * total.totals[e], 0.0 * total.totals[e]
        for h in range(hours):
            x = out.ledger[h * entries + e]
            once, size = once + x, size + abs(x)
        total.totals[e] = total.totals[e] + once
        total.moved[e] = total.moved[e] + size
