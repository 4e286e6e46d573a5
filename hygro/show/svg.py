"""Figures as SVG inside a page or a notebook: ids of their own, alt text, colours by name."""

from __future__ import annotations

import io
import re
from html import escape
from typing import Any

import matplotlib as mpl
from matplotlib.figure import Figure

from hygro.show import style

NAMED = {
    style.INK: "--ink",
    style.FAINT: "--muted",
    style.GRID: "--grid",
    style.LIMIT: "--limit",
    style.PAPER: "--paper",
    **{pen.color: f"--pen{k}" for k, pen in enumerate(style.PENS) if pen.color != style.INK},
}
"""Colours of the figures and the names that the page knows them by, in light and dark."""
NAMELESS = {"Date": None, "Creator": None}
"""Metadata left out: the same figure gives the same letters."""
TAG = re.compile(r"<[^>]*>")
LONG = re.compile(r"(?<![\w#.-])-?\d+\.\d{2,}(?![\w.])")
"""Numbers with more digits than a tenth of a point needs."""
FONT = re.compile(r"(font: (?:\w+ )?[\d.]+px) [^;\"]+")


def svg(figure: Figure, key: str, text: str, *, least: int = 0, named: bool = True) -> str:
    """Return a figure as an `<svg>` element.

    Parameters
    ----------
    figure : Figure
        What to draw.
    key : str
        Unlike that of any other figure of the page; ids start with it.
    text : str
        What the figure shows, for those who do not see it.
    least : int
        Width below which it is scrolled rather than shrunk. [px]
    named : bool
        Colours by the names that the style sheet of the page gives them; False: as they are.
    """
    settings: dict[Any, Any] = {
        "svg.fonttype": "none",
        "svg.hashsalt": "hygro",
        "path.simplify_threshold": 0.3,
    }
    with mpl.rc_context(settings), io.StringIO() as file:
        figure.savefig(file, format="svg", bbox_inches="tight", pad_inches=0.04, metadata=NAMELESS)
        drawn = file.getvalue()
    body = drawn[drawn.index("<svg") :]
    body = re.sub(r"<metadata>.*?</metadata>", "", body, flags=re.DOTALL)
    for colour, name in NAMED.items() if named else ():
        body = body.replace(colour, f"var({name})")
    body = FONT.sub(r"\1 var(--sans)" if named else r"\1 sans-serif", body)
    body = TAG.sub(lambda tag: LONG.sub(_tenths, tag[0]), _own_ids(body, key))
    box = re.search(r'viewBox="([^"]+)"', body)
    assert box is not None  # every figure has one
    head = (
        f'<svg class="drawing" viewBox="{box[1]}" role="img" aria-label="{escape(text)}" '
        f'style="min-width:{least}px;max-width:{float(box[1].split()[2]) * 4 / 3:.0f}px" '
        'xmlns:xlink="http://www.w3.org/1999/xlink">'
    )
    return head + body[body.index(">") + 1 :].strip()


def _tenths(number: re.Match[str]) -> str:
    return f"{float(number[0]):.1f}".removesuffix(".0")


def _own_ids(body: str, key: str) -> str:
    """Keep the ids that something refers to, made the figure's own; drop the others."""
    used = set(re.findall(r"url\(#([^)]+)\)", body)) | set(re.findall(r'href="#([^"]+)"', body))
    body = re.sub(r' id="([^"]+)"', lambda m: f' id="{key}-{m[1]}"' if m[1] in used else "", body)
    return re.sub(r'(url\(#|href="#)', rf"\g<1>{key}-", body)
