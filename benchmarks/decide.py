"""Speed of studies: plan and store dry, maps, a sample, the pool against lanes bare.

    python -m benchmarks.decide [plan] [pool] [map] [refined] [sample]

prints a line for each. Ratios are of one process on the same machine in the same minute.
"""

from __future__ import annotations

import os
import resource
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

from hygro.decide.base import room_of, wall_of
from hygro.decide.map import make_map
from hygro.decide.sample import make_sample
from hygro.decide.study import Study
from hygro.record.given import given_loads
from hygro.solve.ensemble import run_many
from hygro.study.varied import Range, Triangular, Uniform

WALL = "two thirds outboard"
SHARE, RH = Range("5 %", "95 %", 20), Range("20 %", "60 %", 20)
CORES = os.cpu_count() or 1


def main(wanted: list[str]) -> None:
    print(f"{CORES} cores, load {os.getloadavg()[0]:.1f} before the start")
    for name in wanted or list(ALL):
        with tempfile.TemporaryDirectory() as folder:
            ALL[name](Path(folder) / "bench.study")
    print(f"peak memory of this process {_peak(resource.RUSAGE_SELF):.2f} GB, "
          f"of a worker {_peak(resource.RUSAGE_CHILDREN):.2f} GB")  # fmt: skip


def _peak(who: int) -> float:
    return resource.getrusage(who).ru_maxrss / 1e6


def dry_plan(file: Path) -> None:
    """100 000 runs made, hashed, stored, and found again."""
    vary = {
        "rain_leak": Triangular("0 %", "1 %", "3 %"),
        "winter_rh": Uniform("30 %", "50 %"),
        "factor.sheathing.vapour": Uniform(0.7, 1.4),
        "layers.sheathing.thickness": Uniform("10 mm", "14 mm"),
    }
    began, used = time.perf_counter(), time.process_time()
    for turn in ("made, hashed, stored", "made again, hashed, found"):
        study = Study("demonstration", wall=WALL, vary=vary, leaks="all", samples=100_000,
                      store=file, name="dry")  # fmt: skip
        left = study.status().left
        print(f"plan of 100 000 runs: {turn}, {left} left: {time.perf_counter() - began:.1f} s, "
              f"{time.process_time() - used:.1f} s of a core")  # fmt: skip
        began, used = time.perf_counter(), time.process_time()
        study.close()


def pool(file: Path) -> None:
    """Full lanes bare on all cores, then the same runs as a study."""
    study = Study("demonstration", wall=WALL, vary={"winter_rh": Range("20 %", "60 %", 64)},
                  leaks="all", store=file, name="pool")  # fmt: skip
    cases = []
    for point in range(64):
        tables = study.plan.tables(point)
        wall, room = wall_of(tables["wall"], WALL), room_of(tables["room"], {})
        cases.append((wall, given_loads(wall, study.plan.climate(tables).data, room)[0]))
    for _ in run_many(cases[: 8 * CORES], threads=CORES):  # compiled, and warm
        pass
    began = time.perf_counter()
    for _ in run_many(cases, threads=CORES):
        pass
    bare = time.perf_counter() - began
    began = time.perf_counter()
    study.run(processes=CORES)
    whole = time.perf_counter() - began
    print(
        f"64 runs of two years: lanes bare {bare:.1f} s ({128 / bare:.1f} wall-years/s), study "
        f"{whole:.1f} s ({128 / whole:.1f}), {100 * bare / whole:.0f} % of bare"
    )
    study.close()


def full_map(file: Path) -> None:
    """20 by 20 points, one leaky run of two years each."""
    study = Study("demonstration", wall=WALL, vary={"outboard_share": SHARE, "winter_rh": RH},
                  leaks="all", store=file, name="full")  # fmt: skip
    began = time.perf_counter()
    make_map(study, full=True, processes=CORES)
    spent = time.perf_counter() - began
    print(f"full map, 400 runs of two years: {spent:.0f} s, {800 / spent:.1f} wall-years/s")
    study.close()


def refined_map(file: Path) -> None:
    """The same map along its line, with the four runs of the verdict."""
    study = Study("demonstration", wall=WALL, vary={"outboard_share": SHARE, "winter_rh": RH},
                  store=file, name="refined")  # fmt: skip
    began = time.perf_counter()
    found = make_map(study, processes=CORES)
    spent = time.perf_counter() - began
    runs = len(found.plan.distinct)
    print(
        f"refined map, {len(found.results)} points, {runs} runs: {spent:.0f} s, "
        f"{2 * runs / spent:.1f} wall-years/s, {found.open} places open"
    )
    study.close()


def big_sample(file: Path) -> None:
    """2 000 draws of one wall-year."""
    from dataclasses import replace

    from hygro.case import load

    case = replace(load("demonstration"), years=1, repeat="once")
    vary = {"rain_leak": Triangular("0 %", "1 %", "3 %"), "winter_rh": Uniform("30 %", "50 %"),
            "factor.sheathing.vapour": Uniform(0.7, 1.4)}  # fmt: skip
    study = Study(case, wall=WALL, vary=vary, leaks="all", samples=2000, store=file, name="sample")
    began = time.perf_counter()
    found = make_sample(study, processes=CORES)
    spent = time.perf_counter() - began
    content = 100 * np.median(found.number("mc_30d_max"))
    print(f"2 000 draws of a year: {spent:.0f} s, {2000 / spent:.1f} wall-years/s "
          f"(median of peak MC {content:.1f} %)")  # fmt: skip
    study.close()


ALL = {
    "plan": dry_plan,
    "pool": pool,
    "map": full_map,
    "refined": refined_map,
    "sample": big_sample,
}

if __name__ == "__main__":
    main(sys.argv[1:])
