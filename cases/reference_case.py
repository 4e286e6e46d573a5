"""Case files of the published cases as input of `reference_fv`, and tables written as CSV.

Owns the reading of `case.toml` and the writing of commented CSV; knows no equation.
"""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import reference_fv as fv


def read_case(folder: Path) -> dict:
    """The content of `case.toml`."""
    return tomllib.loads((folder / "case.toml").read_text(encoding="utf-8"))


def build_wall(
    case: dict, widths: Sequence[np.ndarray], *, left: str = "outside", right: str = "inside"
) -> tuple[fv.Wall, np.ndarray]:
    """Wall and start state (T, ln ψ) from a case and the cell widths of each layer."""
    names = list(case["material"])
    table = np.array([fv.material_row(case["material"][name]) for name in names])
    kind, start = [], []
    for layer, cells in zip(case["layer"], widths, strict=True):
        index = names.index(layer["material"])
        kind += [index] * cells.size
        if "initial_humidity" in layer:
            suction = fv.suction_of_humidity(layer["initial_humidity"])
        else:
            suction = fv.suction_of_content(table[index], layer["initial_content"])
        start += [layer["initial_temperature"], np.log(suction)] * cells.size
    sides = [fv.Side(case[name]["heat"], case[name]["vapour"]) for name in (left, right)]
    wall = fv.Wall(np.concatenate(widths), np.array(kind), table, *sides)
    return wall, np.array(start)


def constant_loads(case: dict, *, left: str = "outside", right: str = "inside") -> np.ndarray:
    """Load table of a case with constant airs."""
    row = [0.0]
    for name in (left, right):
        temperature = case[name]["temperature"]
        row += [temperature, case[name]["humidity"] * fv.saturation(temperature)]
    row.append(0.0)
    late = [case["case"]["duration"] * 1.001, *row[1:]]
    return np.array([row, late])


def read_table(path: Path) -> dict[str, np.ndarray]:
    """Columns of a commented CSV file by name."""
    lines = [line for line in path.read_text(encoding="utf-8").splitlines() if line[:1] != "#"]
    values = np.array([[float(cell) for cell in line.split(",")] for line in lines[1:]])
    return {name: values[:, k] for k, name in enumerate(lines[0].split(","))}


def write_table(path: Path, comments: Sequence[str], columns: dict[str, tuple[np.ndarray, str]]):
    """Write columns, each with its number format, below comment lines."""
    lines = [f"# {comment}" for comment in comments]
    lines.append(",".join(columns))
    arrays = [(np.atleast_1d(values), form) for values, form in columns.values()]
    for k in range(arrays[0][0].size):
        lines.append(",".join(format(float(values[k]), form) for values, form in arrays))
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    print(path.name, arrays[0][0].size, "rows")
