"""What a panel of the mould index is of, closing in and service told apart: words and a mark."""

from __future__ import annotations

from matplotlib.axes import Axes

from hygro.assess.questions import WARM_UP
from hygro.show import style
from hygro.study.trace import MouldWindows, Trace

CLOSING, LEFT_OUT = "closing in", "left out"
ROOM = 0.13
"""Of the height of a panel, left above the lines for the words. [1]"""
NARROW = 0.2
"""Share of the width below which closing in has no room for its word beside service. [1]"""


def words(found: MouldWindows | None) -> tuple[str, str]:
    """Words for what stands before service begins and for service; empty where there is none."""
    if found is None:
        return "", ""
    if found.begin is None:
        return CLOSING, ""
    before = CLOSING if found.begin >= WARM_UP else LEFT_OUT
    return before if found.begin else "", service_words(found)


def service_words(found: MouldWindows) -> str:
    """Which of the years of service are told."""
    if found.grown <= found.told:
        return "service"
    last = "the last" if found.told == 1.0 else f"the last {found.told:.3g}"
    return f"service: {last} of {found.grown:.3g} years"


def in_a_line(found: MouldWindows | None) -> str:
    """The words behind a title."""
    told = ", then ".join(filter(None, words(found)))
    return f", {told}" if told else ""


def mark(axes: Axes, found: Trace) -> None:
    """Write the words above the lines of a panel, and draw where service begins."""
    before, service = words(found.windows)
    if not (before or service):
        return
    low, high = axes.get_ylim()
    axes.set_ylim(low, high + ROOM * (high - low))
    begin = found.windows.begin if found.windows and found.windows.begin else 0
    if begin and service:
        axes.axvline(found.day[begin], color=style.FAINT, linewidth=0.8)
    if service and before and begin < NARROW * len(found.day):
        before, service = "", f"{service}; before it {before}"
    for day, text in ((0, before), (begin, service)):
        axes.annotate(
            text,
            (found.day[day], 1.0),
            xycoords=axes.get_xaxis_transform(),
            xytext=(3, -3),
            textcoords="offset points",
            fontsize=7.5,
            va="top",
            color=style.LIMIT,
        )
