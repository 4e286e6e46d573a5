"""Real years, and the least insulation of two invented towns."""

from __future__ import annotations

from typing import Any

from measured.files import FOLDER, read, table


def years(inner: str) -> str:
    """One table of the real years: peak moisture content, condensate, index, a star for failing."""
    rows = read("real_years")["rows"][inner]
    shares = list(next(iter(rows.values())))
    cells = ([place, *(_year(row[share]) for share in shares)] for place, row in rows.items())
    return table(["place (thermal zone)", *shares], cells)


def _year(cell: dict[str, Any]) -> str:
    star = "" if cell["passed"] else " \\*"
    return f"{cell['mc']:.1f} / {cell['condensate']:.2f} / {cell['index']:.1f}{star}"


def no_run_off() -> str:
    """Moisture content of the coldest row without run-off."""
    return ", ".join(f"{cell['mc']:.1f}" for cell in read("real_years")["no_run_off"].values())


def coldest(key: str, *, run_off: bool) -> str:
    """Return a number of the coldest place with all of the insulation in the cavity."""
    found = read("real_years")
    row = found["rows"]["latex-paint"]["Northway AK (8)"] if run_off else found["no_run_off"]
    return f"{row['0 %'][key]:.1f}"


def least() -> str:
    """Return the table that `hygro least` wrote."""
    lines = (FOLDER / "least_R.md").read_text(encoding="utf-8").splitlines()
    return "\n".join(line for line in lines if line.startswith("|"))
