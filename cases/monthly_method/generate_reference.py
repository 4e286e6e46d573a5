"""Generate the worked amounts of the steady monthly condensation method.

The vapour pressure line is the lower convex hull of the saturation pressures over s_d, the
string that ISO 13788 draws: standalone, numpy only. Run
`python cases/monthly_method/generate_reference.py`; writes reference_periods.csv and
reference_year.csv.
"""

from __future__ import annotations

import itertools
import math
import tomllib
from pathlib import Path

import numpy as np

FOLDER = Path(__file__).parent
DAY = 86400.0


def saturation(temperature: float) -> float:
    """Saturation pressure of ISO 13788. [Pa]"""
    theta = temperature - 273.15
    if theta >= 0.0:
        return 610.5 * math.exp(17.269 * theta / (237.3 + theta))
    return 610.5 * math.exp(21.875 * theta / (265.5 + theta))


def nodes(data: dict) -> tuple[np.ndarray, np.ndarray]:
    """Cumulated R [m2 K/W] (from the outside air) and s_d [m] of each plane, outside first."""
    case = data["case"]
    resistance, depth = [case["outside_resistance"]], [0.0]
    for layer in data["layer"]:
        whole = layer["thickness"] / layer["conductivity"]
        parts = max(1, math.ceil(whole / case["largest_resistance"] - 1e-9))
        for _ in range(parts):
            resistance.append(resistance[-1] + whole / parts)
            depth.append(depth[-1] + layer["diffusion_resistance"] * layer["thickness"] / parts)
    return np.array(resistance), np.array(depth)


def plane_pressures(data: dict, outside: float, inside: float) -> np.ndarray:
    """Saturation pressure at each plane. [Pa]"""
    resistance, _ = nodes(data)
    total = resistance[-1] + data["case"]["inside_resistance"]
    return np.array([saturation(outside + r / total * (inside - outside)) for r in resistance])


def string(depth: np.ndarray, limit: np.ndarray, wet: set[int]) -> list[int]:
    """Planes where the vapour pressure touches saturation, with the two ends.

    `limit` holds the air pressures at its ends; planes in `wet` hold water and are touched
    whether or not the string would pass below them.
    """
    fixed = sorted({0, depth.size - 1} | wet)
    touched = [fixed[0]]
    for low, high in itertools.pairwise(fixed):
        hull = [low]
        for k in range(low + 1, high + 1):
            while len(hull) > 1:
                a, b = hull[-2], hull[-1]
                turn = (depth[b] - depth[a]) * (limit[k] - limit[a])
                if turn > (depth[k] - depth[a]) * (limit[b] - limit[a]):
                    break
                hull.pop()
            hull.append(k)
        touched += hull[1:]
    return touched


def rates(data: dict, load: dict, wet: set[int]) -> dict[int, float]:
    """Condensation (positive) or evaporation at each touched plane. [kg/(m2 s)]"""
    _, depth = nodes(data)
    limit = plane_pressures(data, load["outside_temperature"], load["inside_temperature"])
    limit[0], limit[-1] = load["outside_pressure"], load["inside_pressure"]
    touched = string(depth, limit, wet)
    slope = np.diff(limit[touched]) / np.diff(depth[touched])
    permeability = data["case"]["air_permeability"]
    return {k: permeability * (slope[i + 1] - slope[i]) for i, k in enumerate(touched[1:-1])}


def period_loads(data: dict) -> list[tuple[str, float, dict]]:
    """Fixed periods: name, seconds, loads."""
    found = []
    for row in data["period"]:
        load = {key: row[key] for key in ("outside_temperature", "inside_temperature")}
        for side in ("outside", "inside"):
            pressure = row[f"{side}_humidity"] * saturation(row[f"{side}_temperature"])
            load[f"{side}_pressure"] = pressure
        found.append((row["name"], row["days"] * DAY, load))
    return found


def month_load(year: dict, month: int) -> dict:
    """Loads of one month with the indoor vapour pressure of the humidity class."""
    temperature = year["outside_temperature"][month]
    outside = year["outside_humidity"][month] * saturation(temperature)
    share = min(1.0, max(0.0, 1.0 - (temperature - 273.15) / 20.0))
    return {
        "outside_temperature": temperature,
        "inside_temperature": year["inside_temperature"],
        "outside_pressure": outside,
        "inside_pressure": outside + share * year["inside_excess"],
    }


def run_year(data: dict) -> list[tuple[int, int, float, float]]:
    """(month, plane, rate, accumulated) from the first condensing month for twelve months."""
    year = data["year"]
    dry = [rates(data, month_load(year, month), set()) for month in range(12)]
    start = next(m for m in range(12) if dry[m] and not dry[m - 1])
    stock: dict[int, float] = {}
    rows = []
    for step in range(12):
        month = (start + step) % 12
        load = month_load(year, month)
        found = rates(data, load, {k for k, mass in stock.items() if mass > 0.0})
        for plane, rate in found.items():
            mass = stock.get(plane, 0.0) + rate * year["days"][month] * DAY
            stock[plane] = max(0.0, mass)
            rows.append((month + 1, plane, rate, stock[plane]))
    return rows


def main() -> None:
    """Write both tables."""
    data = tomllib.loads((FOLDER / "case.toml").read_text(encoding="utf-8"))
    _, depth = nodes(data)
    note = "# Steady method of ISO 13788 (equations from memory), invented wall; computed."
    lines = [
        note,
        "# s_d of the plane counted from outside [m], rate [kg/(m2 s)], amount [kg/m2].",
        "period,plane_sd,rate,amount",
    ]
    for name, seconds, load in period_loads(data):
        for plane, rate in rates(data, load, set()).items():
            lines.append(f"{name},{depth[plane]:.4f},{rate:.6e},{rate * seconds:.6f}")
    drying, permeability = data["drying"], data["case"]["air_permeability"]
    _, _, load = period_loads(data)[0]
    plane = next(iter(rates(data, load, set())))
    gap = drying["plane_pressure"] - drying["air_pressure"]
    rate = -permeability * gap * (1.0 / depth[plane] + 1.0 / (depth[-1] - depth[plane]))
    amount = rate * drying["days"] * DAY
    lines.append(f"DIN 4108-3:2014 drying,{depth[plane]:.4f},{rate:.6e},{amount:.6f}")
    (FOLDER / "reference_periods.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    lines = [
        note,
        "# Twelve invented months from the first that condenses; month (1 January), s_d of the",
        "# plane from outside [m], rate [kg/(m2 s)], accumulated amount at its end [kg/m2].",
        "month,plane_sd,rate,accumulated",
    ]
    for month, plane, rate, mass in run_year(data):
        lines.append(f"{month},{depth[plane]:.4f},{rate:.6e},{mass:.6f}")
    (FOLDER / "reference_year.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
