"""What must hold for every wall: bounds, closures, ice within water, the same bits in lanes."""

from __future__ import annotations

import re
import time
from dataclasses import fields
from typing import Any

import numpy as np
import xarray as xr

from hygro.errors import HygroError, InputError, SolveError
from hygro.record import simulate_loads
from hygro.solve.ensemble import run_many
from hygro.solve.march import run
from hygro.solve.order import WORTH
from hygro.solve.setup import Run
from hygro.wall.loads import Loads
from hygro.wall.wall import Wall
from tests.fuzz.random_wall import drawn, random_surroundings

HOURS = 600
OPEN = 1e-9
"""Closures are round-off, some 1e-15; a formula that loses water loses a millionth at least. [1]"""
EVERY = 4
"""Every so many walls is also run in lanes with others of its structure."""
PHYSICAL = (150.0, 450.0)
"""Kelvin that a message about a stopped march may name. A real wall keeps to 220 to 380. [K]"""
Told = dict[str, Any]
"""Outcome of an item: plain values; `faults` lists what does not hold."""


def tried(seed: int, number: int, hours: int = HOURS) -> Told:
    """Draw a wall, run it, and say what does not hold."""
    wall, draw, refused = drawn(seed, number)
    loads = random_surroundings(wall, draw, hours)
    told: Told = {"refused": refused, "faults": [], "stopped": ""}
    began = time.thread_time()
    try:
        record = simulate_loads(wall, loads)
    except SolveError as error:
        told |= {"stopped": str(error), "faults": stop_faults(str(error))}
    else:
        told["seconds"] = time.thread_time() - began
        told["evaluations"] = record.attrs["evaluations"] / hours
        told["faults"] = record_faults(record)
    if number % EVERY == 0:
        others = [random_surroundings(wall, draw, hours) for _ in range(WORTH - 1)]
        told |= in_lanes(wall, [loads, *others], told["faults"])
    return told


def in_lanes(wall: Wall, loads: list[Loads], faults: list[str]) -> Told:
    """Run a wall under several loads side by side and by itself: the same bits or message."""
    cases = [(wall, x) for x in loads]
    together = dict(run_many(cases, threads=1))
    unlike = 0
    for k, case in enumerate(cases):
        try:
            alone: Run | HygroError = run(*case)
        except HygroError as error:
            alone = error
        if not same(together[k], alone):
            unlike += 1
            faults.append(f"lane {k}: other bits than the wall by itself")
    stops = [str(x) for x in together.values() if isinstance(x, HygroError)]
    faults += [fault for text in stops for fault in stop_faults(text)]
    return {"lanes": len(cases), "lanes_stopped": len(stops), "lanes_unlike": unlike}


def same(one: Run | HygroError, other: Run | HygroError) -> bool:
    """Whether two results have the same bits, or say the same."""
    if not (isinstance(one, Run) and isinstance(other, Run)):
        return type(one) is type(other) and str(one) == str(other)
    return all(
        _alike(getattr(one, f.name), getattr(other, f.name))
        for f in fields(Run)
        if f.name != "grid"
    )


def _alike(one: Any, other: Any) -> bool:
    if isinstance(one, np.ndarray):
        return np.array_equal(one, other, equal_nan=True)
    if isinstance(one, tuple):
        return all(_alike(a, b) for a, b in zip(one, other, strict=True))
    return bool(one == other)


def record_faults(record: xr.Dataset) -> list[str]:
    """What does not hold of a record. Making it has refused values out of the variable table."""
    faults = [
        f"{key} = {record.attrs[key]:.2e}: must be at most {OPEN:g}"
        for key in ("closure_energy", "closure_moisture")
        if not record.attrs[key] <= OPEN
    ]
    faults += [
        f"'{name}' is not finite"
        for name in ("temperature", "relative_humidity", "water_content", "ice_content")
        if not np.isfinite(record[name].values).all()
    ]
    over = (record["ice_content"] - record["water_content"]).values.max()
    if over > 0.0:
        faults.append(f"ice exceeds water by {over:.2e} kg/m³")
    if not record["relative_humidity"].values.min() > 0.0:
        faults.append("relative humidity of 0 or below")
    if record["relative_humidity"].values.max() > 1.0:
        faults.append("relative humidity above 1")
    try:
        record.hygro.verdict()
    except InputError as error:
        if any(len(line) > 300 for line in str(error).splitlines()):
            faults.append(f"verdict: a line of over 300 characters: {error}")
    return faults


def stop_faults(text: str) -> list[str]:
    """What is wrong with the message of a stopped march: states that no wall has."""
    faults = []
    for number, unit in re.findall(r"(-?\d+(?:\.\d+)?(?:e[+-]?\d+)?) ?(°C|degC|K|%)", text):
        value = float(number)
        kelvin = value if unit == "K" else value + 273.15
        if unit == "%" and not 0.0 <= value <= 100.0:
            faults.append(f"a humidity of {value:g} %: {text}")
        if unit != "%" and not PHYSICAL[0] <= kelvin <= PHYSICAL[1]:
            faults.append(f"a temperature of {value:g} {unit}: {text}")
    if re.search(r"\b(nan|inf)\b", text):
        faults.append(f"no number: {text}")
    return faults
