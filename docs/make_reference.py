"""Writes the reference pages and their figures from the declarations.

The pages say nothing that a declaration does not: keys, units, bounds, defaults and meanings come
from the classes, examples from `docs/examples.toml` and from the shipped materials.
"""

from __future__ import annotations

import inspect
import json
import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path
from types import ModuleType
from typing import Any, NamedTuple

import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from hygro.case.file import CaseFile
from hygro.declare import keys, plain, read
from hygro.describe import Key, described, forms, nested, section, summary, tag_of
from hygro.material import liquid, model, points, storage, thermal, vapour
from hygro.material.curves import SUCTION_PER_S
from hygro.material.library import library
from hygro.record.variables import TABLE
from hygro.show import style
from hygro.variable import Variable
from hygro.wall.boundary import boundary
from hygro.wall.load_variables import INSTANT, LOADS

HERE = Path(__file__).resolve().parent
FOLDER = HERE / "reference"
EXAMPLES: dict[str, str] = tomllib.loads((HERE / "examples.toml").read_text(encoding="utf-8"))


PREFERRED = ("osb", "mineral-wool-board")
"""Shipped materials that serve as examples before others."""


class Kind(NamedTuple):
    """A kind of curve: its key in a material, its forms, and the file that owns them."""

    key: str
    forms: Any
    owner: ModuleType


KINDS = (
    Kind("storage", model.Storage, storage),
    Kind("vapour", model.Vapour, vapour),
    Kind("thermal", model.Thermal, thermal),
    Kind("liquid", model.Liquid, liquid),
    Kind("permeance", model.SheetPermeance, vapour),
)


def pages() -> dict[str, str]:
    """Return the text of every page by the name of its file."""
    return {
        "case-file.md": case_file(),
        "materials.md": materials(),
        "record.md": record(),
        "boundary.md": boundary_data(),
    }


# The case file


def tables() -> dict[type, str]:
    """Return every declared table of a case file with the first place where it may stand."""
    found: dict[type, str] = {CaseFile: ""}
    waiting = [CaseFile]
    while waiting:
        cls = waiting.pop(0)
        for key, inner in nested(cls):
            if inner not in found and inner not in (model.Material, model.SheetMaterial):
                found[inner] = f"{found[cls]}.{key}".lstrip(".")
                waiting.append(inner)
    return found


def case_file() -> str:
    """Return the page of the case file."""
    parts = [
        "# Case file",
        "Every table of a case file. A plain number is in the unit in brackets, the first of those "
        'listed; a text has its unit with it: `"140 mm"`, `"5 1/2 in"`, `"35 %"`. '
        "Materials are on [their own page](materials.md), the weather of a case in "
        "[`climate`](#climateentry).",
    ]
    known = tables()
    for cls, place in known.items():
        parts += [f"## {cls.__name__}", *_lead(cls, place), key_table(cls, known), _toml(cls)]
    return _page(parts)


def _lead(cls: type, place: str) -> Iterator[str]:
    said = [f"In `{place}`."] if place else []
    tag = f"`{tag_of(cls)}`" if tag_of(cls) else ""
    yield " ".join([*said, tag]).strip() or "The whole file."
    yield summary(cls)
    if section(cls, "References"):
        yield "Source: " + " ".join(section(cls, "References").split())


def key_table(cls: type, known: Mapping[type, str]) -> str:
    """Return the keys of a declared class as a Markdown table."""
    rows = ["| key | what | bounds and units | default | meaning |", "|---|---|---|---|---|"]
    links = {item.__name__ for item in known}
    rows += [_row(key, links) for key in described(cls)]
    return "\n".join(rows)


def _row(key: Key, links: set[str]) -> str:
    words = []
    for word in key.type.split(" or "):
        *before, name = word.split("table ")
        lead = "table ".join(before)
        words.append(f"{lead}[{name}](#{name.lower()})" if before and name in links else word)
    what = " or ".join(words)
    if key.key in {kind.key for kind in KINDS} and "table" in key.type:
        what = f"one of the forms of [{key.key}](#{key.key})"
    cells = (f"`{key.key}`", what, key.bound, key.default, key.meaning)
    return "| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |"


def _toml(cls: type) -> str:
    return f"```toml\n{EXAMPLES[cls.__name__].strip()}\n```"


# Materials


def materials() -> str:
    """Return the page of materials and their curves."""
    known = {model.Material: "", model.SheetMaterial: ""}
    parts = [
        "# Materials",
        "The top tables of a material file, and `[materials.KEY]` of a case. "
        "`hygro materials` lists those that are shipped.",
    ]
    for cls in known:
        tag = tag_of(cls)
        parts += [f"## {cls.__name__}", f"`{tag}`", summary(cls), key_table(cls, {}), _toml(cls)]
    parts += csv_points()
    for kind in KINDS:
        parts += curve_section(kind)
    return _page(parts)


def csv_points() -> Iterator[str]:
    """Yield how measured points come from a file."""
    yield "## Measured points from a CSV file"
    yield inspect.cleandoc(points.__doc__ or "").split("\n\n", 1)[1]
    yield f"```toml\n{EXAMPLES['points'].strip()}\n```"
    yield f"```text\n{EXAMPLES['points_file'].strip()}\n```"


def curve_section(kind: Kind) -> Iterator[str]:
    """Yield the section of one kind of curve: figure, and every form with an example."""
    yield f"## {kind.key}"
    yield inspect.cleandoc(kind.owner.__doc__ or "").split("\n\n", 1)[-1]
    yield f"![Curves of the examples below, one line a form](curves-{kind.key}.png)"
    for cls in forms(kind.forms):
        yield f"### {kind.key}: {json.loads(tag_of(cls).split(' = ')[1])}"
        yield summary(cls)
        yield from (" ".join(text.split()) for name in ("Notes",) if (text := section(cls, name)))
        if section(cls, "References"):
            yield "Source: " + " ".join(section(cls, "References").split())
        yield key_table(cls, {})
        text, _, owner = example(kind, cls)
        yield f"From `{owner}` of the shipped library:" if owner else "An invented example:"
        yield f"```toml\n{text}\n```"


def example(kind: Kind, cls: type) -> tuple[str, Any, str]:
    """Return text, curve and, if it is shipped, the key of the material of an example."""
    if cls.__name__ in EXAMPLES:
        text = EXAMPLES[cls.__name__].strip()
        curve = read(kind.forms, tomllib.loads(text)[kind.key])
        return text, curve, ""
    shipped = [m for m in library().values() if type(getattr(m, kind.key, None)) is cls]
    chosen = min(
        shipped, key=lambda m: (*(m.key != key for key in PREFERRED), m.group == "benchmark")
    )
    curve = getattr(chosen, kind.key)
    return f"{kind.key} = {_inline(curve)}", curve, chosen.key


def _inline(curve: Any) -> str:
    """A curve as an inline table, without what is left at its default."""
    given = plain(curve)
    settled = {key: getattr(type(curve), name, None) for key, name in keys(type(curve)).items()}
    items = [
        (key, value)
        for key, value in given.items()
        if key == "form" or value != plain(settled.get(key))
    ]
    items.sort(key=lambda item: item[0] != "form")
    return "{ " + ", ".join(f"{k} = {json.dumps(v, ensure_ascii=False)}" for k, v in items) + " }"


# The record


def record() -> str:
    """Return the page of the record."""
    parts = [
        "# Record",
        "What a run leaves, an xarray Dataset and the netCDF file of it. A mean of the hour "
        "belongs to the hour that ends at its stamp and has no value at the first instant. A value "
        "out of bounds is refused, when a record is made and when it is opened.",
    ]
    for kind, words in (("coordinate", "Coordinates"), ("variable", "Variables")):
        rows = [_variable(row) for row in TABLE if row.kind == kind]
        head = "| name | dims | unit | averaging | bounds | meaning |\n|---|---|---|---|---|---|\n"
        parts += [f"## {words}", head + "\n".join(rows)]
    return _page(parts)


BOUNDARY = """
import numpy as np
import xarray as xr

import hygro

wall = hygro.Wall("board", [hygro.Layer("osb", "18 mm"), hygro.Layer("glass-wool-batt", "140 mm")])
time = np.datetime64("2001-01-01T00", "ns") + np.arange(24 * 30 + 1) * np.timedelta64(1, "h")
given = {
{given}
}
boundary = xr.Dataset(
    {name: ("time", np.full(len(time), x), {"units": u}) for name, (x, u) in given.items()},
    coords={"time": time},
)
record = hygro.simulate_loads(wall, boundary)
"""
"""The example of the page of boundary data, but for its values."""
GIVEN = {
    "outdoor_temperature": 268.15, "outdoor_vapour_pressure": 320.0, "outdoor_heat_transfer": 20.0,
    "outdoor_vapour_transfer": 1.5e-7, "outdoor_radiation": 264.0, "rain_incident": 0.0,
    "indoor_temperature": 294.15, "indoor_vapour_pressure": 1000.0, "indoor_heat_transfer": 8.0,
    "indoor_vapour_transfer": 2.5e-8, "indoor_radiation": 0.0, "indoor_wetting": 0.0,
    "wind_speed": 0.0, "air_flow": 0.0,
}  # fmt: skip
"""A steady winter month, for that example: sky and ground as warm as the air, 0.9 sigma T**4."""


def boundary_data() -> str:
    """Return the page of boundary data of a user's own."""
    needed = [row for row in LOADS.values() if not row.optional]
    given = "\n".join(f'    "{row.name}": ({GIVEN[row.name]!r}, "{row.unit}"),' for row in needed)
    head = "| name | dims | unit | averaging | bounds | meaning |\n|---|---|---|---|---|---|\n"
    wanted = "\n".join(_variable(row, "") for row in (INSTANT, *needed))
    columns = "\n".join(_variable(row, "") for row in LOADS.values() if row.optional)
    return _page(
        [
            "# Boundary data",
            "What `hygro.simulate_loads(wall, boundary)` reads of a Dataset of your own. "
            + " ".join(inspect.getdoc(boundary).split("Raises")[0].split("\n\n", 1)[1].split()),
            "A value out of bounds is refused with its hour, bound and likely cause; so is a "
            "variable with other units in its attribute `units`.",
            "## Needed",
            head + wanted,
            "## Needed where the wall has gaps, or leaks",
            head + columns,
            "## From scratch",
            f"```python\n{BOUNDARY.replace('{given}', given).strip()}\n```",
        ]
    )


def _variable(row: Variable, whether: str = " (where there is one)") -> str:
    bounds = "" if row.low is None or row.high is None else f"{row.low:g} to {row.high:g}"
    averaging = row.cell_methods.removeprefix("time: ")
    meaning = row.long_name + (whether if row.optional else "")
    return (
        f"| `{row.name}` | {', '.join(row.dims)} | {row.unit} | {averaging} | {bounds} "
        f"| {meaning} |"
    )


def _page(parts: list[str]) -> str:
    made = "<!-- Written by docs/make_reference.py from the declarations. -->"
    return "\n\n".join([made, *(part for part in parts if part)]) + "\n"


# Figures

RH = np.linspace(0.0, 1.0, 401)
SUCTIONS = np.geomspace(1e8, 1e3, 401)


class Line(NamedTuple):
    """One curve of a figure."""

    name: str
    x: np.ndarray
    y: np.ndarray


def _curves(kind: Kind) -> Iterator[tuple[str, Any, str]]:
    for cls in forms(kind.forms):
        _, curve, owner = example(kind, cls)
        if hasattr(curve, "storage") and curve.storage is None:
            curve = _linked(curve)
        yield json.loads(tag_of(cls).split(" = ")[1]), curve, owner


def _linked(curve: Any) -> Any:
    """A curve over water content whose material is invented, with the storage of OSB."""
    from dataclasses import replace

    return replace(curve, storage=library()["osb"].storage)  # type: ignore[union-attr]


def _draw(axes: Axes, lines: list[Line], *, label: bool = True) -> None:
    for number, line in enumerate(lines):
        pen = style.pen(number)
        dash = (0, pen.dash) if pen.dash else "-"
        axes.plot(line.x, line.y, color=pen.color, linestyle=dash, linewidth=pen.width,
                  marker=pen.mark, markersize=4, markevery=(20 + 7 * number, 80))  # fmt: skip
    style.quiet(axes)
    if label:
        _labels(axes, lines)


def _labels(axes: Axes, lines: list[Line]) -> None:
    """Names beside the ends of the lines, moved apart, each with a thread to its line."""
    axes.figure.canvas.draw()
    ends = [(float(line.x[-1]), float(line.y[-1])) for line in lines]
    at = axes.transAxes.inverted().transform(axes.transData.transform(ends))
    point = 1.0 / 72.0 / (axes.bbox.width / axes.figure.dpi)
    heights = style.apart([y for _, y in at], 0.065, 0.0, 1.0)
    for number, (line, (x, y), height) in enumerate(zip(lines, at, heights, strict=True)):
        pen = style.pen(number)
        axes.plot([x, 1.0 + 12 * point], [y, height], transform=axes.transAxes, clip_on=False,
                  color=style.FAINT, linewidth=0.6)  # fmt: skip
        axes.plot(
            [1.0 + 18 * point],
            [height],
            transform=axes.transAxes,
            clip_on=False,
            marker=pen.mark,
            color=pen.color,
            markersize=4,
        )
        axes.text(
            1.0 + 25 * point,
            height,
            line.name,
            transform=axes.transAxes,
            va="center",
            fontsize=8,
            color=style.INK,
        )


def _figure(count: int) -> tuple[Figure, list[Axes]]:
    figure = Figure(figsize=(8.4, 3.9), dpi=130, facecolor=style.PAPER)
    FigureCanvasAgg(figure)
    axes = figure.subplots(1, count, squeeze=False)[0]
    return figure, list(axes)


def storage_figure() -> Figure:
    """Water content over humidity, and over suction near saturation."""
    figure, (left, right) = _figure(2)
    curves = list(_curves(KINDS[0]))
    s = -np.log(np.maximum(RH, 1e-12))
    left_lines = [Line(n, 100 * RH[5:], c.water_content(s)[5:]) for n, c, _ in curves]
    right_lines = [
        Line(n, SUCTIONS, c.water_content(SUCTIONS / SUCTION_PER_S)) for n, c, _ in curves
    ]
    for axes in (left, right):
        axes.set_yscale("log")
        axes.set_ylim(1e-4, 1e3)
    right.set_xscale("log")
    right.set_xlim(1e8, 1e3)
    _draw(left, left_lines, label=False)
    figure.subplots_adjust(left=0.08, right=0.8, bottom=0.14, top=0.9, wspace=0.22)
    _draw(right, right_lines)
    left.set_xlabel("relative humidity, %", fontsize=8)
    right.set_xlabel("suction, Pa: dry left, wet right", fontsize=8)
    left.set_title("Water content, kg/m³", fontsize=9, loc="left")
    return figure


def _over_rh(kind: Kind, method: str, title: str) -> Figure:
    figure, (axes,) = _figure(1)
    x = np.linspace(0.0, 0.98, 393)
    lines = [Line(n, 100 * x, np.asarray(getattr(c, method)(x))) for n, c, _ in _curves(kind)]
    axes.set_yscale("log")
    figure.subplots_adjust(left=0.1, right=0.76, bottom=0.14, top=0.9)
    _draw(axes, lines)
    axes.set_xlabel("relative humidity, %", fontsize=8)
    axes.set_title(title, fontsize=9, loc="left")
    return figure


def thermal_figure() -> Figure:
    """Conductivity over water content."""
    figure, (axes,) = _figure(1)
    w = np.linspace(0.0, 300.0, 401)
    lines = [Line(n, w, c.conductivity(w)) for n, c, _ in _curves(KINDS[2])]
    axes.set_ylim(0.0, 0.25)
    figure.subplots_adjust(left=0.1, right=0.76, bottom=0.14, top=0.9)
    _draw(axes, lines)
    axes.set_xlabel("water content, kg/m³", fontsize=8)
    axes.set_title("Thermal conductivity, W/(m·K)", fontsize=9, loc="left")
    return figure


def liquid_figure() -> Figure:
    """Conductivity and diffusivity over water content, each form in its own unit."""
    figure, panels = _figure(2)
    figure.subplots_adjust(left=0.07, right=0.81, bottom=0.14, top=0.9, wspace=1.1)
    titles = {"conductivity": "Liquid conductivity K, s", "diffusivity": "Diffusivity D, m²/s"}
    for axes, (driving, title) in zip(panels, titles.items(), strict=True):
        lines = []
        for name, curve, owner in _curves(KINDS[3]):
            if curve.driving == driving:
                top = library()[owner].w_free if owner else 400.0  # type: ignore[union-attr]
                w = np.linspace(0.02 * top, top, 401)
                lines.append(Line(name, w, np.asarray(getattr(curve, driving)(w))))
        axes.set_yscale("log")
        if driving == "conductivity":
            axes.set_ylim(1e-20, 1e-7)
        _draw(axes, lines)
        axes.set_xlabel("water content, kg/m³", fontsize=8)
        axes.set_title(title, fontsize=9, loc="left")
    return figure


def figures() -> dict[str, Figure]:
    """Return every figure by the name of its file."""
    return {
        "curves-storage.png": storage_figure(),
        "curves-vapour.png": _over_rh(
            KINDS[1], "permeability", "Vapour permeability at 20 °C, kg/(m·s·Pa)"
        ),
        "curves-thermal.png": thermal_figure(),
        "curves-liquid.png": liquid_figure(),
        "curves-permeance.png": _over_rh(
            KINDS[4], "permeance", "Vapour permeance at 20 °C, kg/(m²·s·Pa)"
        ),
    }


def main() -> None:
    """Write pages and figures."""
    FOLDER.mkdir(exist_ok=True)
    for name, text in pages().items():
        (FOLDER / name).write_text(text, encoding="utf-8")
    for name, figure in figures().items():
        figure.savefig(FOLDER / name)


if __name__ == "__main__":
    main()
