"""Wall-years a second over walls at a time, a card beside cores.

`python -m benchmarks.card_figure` draws docs/gpu-speed.png from docs/results/gpu.json, which
`benchmarks.card` records.
"""

from __future__ import annotations

import json

from benchmarks.common import RECORDED
from hygro.show.style import FAINT, GRID, INK, PENS, Sheet

WALL = "framed"


def draw() -> Sheet:
    """The figure."""
    found = json.loads((RECORDED / "gpu.json").read_text(encoding="utf-8"))
    rows = [x for x in found["speed"] if x["wall"] == WALL]
    rows = [x for x in rows if x["cells"] == rows[0]["cells"]]
    sheet = Sheet(6.4, 3.8)
    axes = sheet.add_axes((0.11, 0.14, 0.66, 0.78))
    for pen, order, name in zip(
        PENS, ("alike", "mixed"), ("alike", "in random order"), strict=False
    ):
        some = [x for x in rows if x["order"] == order]
        x, y = [r["walls"] for r in some], [r["years_per_s"] for r in some]
        axes.plot(x, y, pen.mark, color=pen.color, linestyle="-", linewidth=pen.width)
        axes.annotate(f"card, walls {name}", (x[-1], y[-1]), (8, 0), color=INK, fontsize=8,
                      textcoords="offset points", va="center")  # fmt: skip
    for row in found["on_cores"]:
        cores, level = row["cores"], row["years_per_s"]
        axes.axhline(level, color=FAINT, linewidth=1.0, dashes=(6, 2))
        name = f"{cores} cores, one process" if cores > 1 else "1 core"
        axes.annotate(name, (1, level), (6, 0), color=INK,
                      xycoords=("axes fraction", "data"), textcoords="offset points",
                      va="center", fontsize=8)  # fmt: skip
    axes.set(xscale="log", yscale="log", xlim=(800, 8e4), ylim=(5, 2000))
    axes.set_xlabel("walls at a time")
    axes.set_ylabel("wall-years a second")
    ticks = sorted({x["walls"] for x in rows})
    axes.set_xticks(ticks, [f"{n:,}".replace(",", " ") for n in ticks], minor=False)
    axes.minorticks_off()
    axes.set_yticks([10, 100, 1000], ["10", "100", "1000"])
    axes.grid(color=GRID, linewidth=0.6)
    axes.spines[["top", "right"]].set_visible(False)
    axes.set_title(f"{WALL}, {rows[0]['cells']} cells, {found['card']}", loc="left", fontsize=9)
    return sheet


if __name__ == "__main__":
    draw().savefig(RECORDED.parent / "gpu-speed.png", dpi=130)
