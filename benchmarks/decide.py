"""Speed of studies: plan and store dry, maps, a sample, the pool against lanes bare, reserves.

    python -m benchmarks.decide [plan] [pool] [map] [refined] [sample] [reserve] [--write]
    python -m benchmarks.decide cores [1 2 4 8 16]

prints a line for each number. "Clock" is the processor time of all processes over the cores of the
machine, which is what an idle one would need; `--write` records it in `benchmarks/decide.json`,
where the tables of docs/decisions.md come from. `cores` counts wall-years per second by the clock
itself on a machine that is idle, see `benchmarks.decide_cores`.

Workers read this file again, as those of a command read that of the command: what they do not need
is imported where it is used.
"""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from benchmarks.decide_meter import CORES, Meter

if TYPE_CHECKING:
    from hygro.decide.study import Study
    from hygro.wall.loads import Loads
    from hygro.wall.wall import Wall

WALL = "two thirds outboard"
FILE = Path(__file__).with_suffix(".json")
Found = dict[str, float]


def main(wanted: list[str]) -> None:
    """Measure the parts that are named, or all of them."""
    if wanted[:1] == ["cores"]:
        from benchmarks.decide_cores import cores

        cores([int(word) for word in wanted[1:]])
        return
    names = [word for word in wanted if word != "--write"] or list(ALL)
    options = [word for word in wanted if word == "--write"]
    if len(names) == 1:
        part(names[0], write=bool(options))
        return
    for name in names:  # each in a process of its own, which holds nothing of the others
        subprocess.run([sys.executable, "-m", "benchmarks.decide", name, *options], check=True)


def part(name: str, *, write: bool) -> None:
    """Measure one part."""
    with tempfile.TemporaryDirectory() as folder:
        found = ALL[name](Path(folder) / "bench.study")
    for key, value in found.items():
        print(f"{name:8s} {key:32s} {value:10.4g}", flush=True)
    if write:
        from benchmarks.common import machine

        told = json.loads(FILE.read_text("utf-8")) if FILE.exists() else {}
        told |= {name: found, "machine": f"{machine()}, {CORES} cores"}
        FILE.write_text(json.dumps(told, indent=1) + "\n", "utf-8")


def dry_plan(file: Path) -> Found:
    """100 000 runs made, hashed, stored, and found again."""
    from hygro.decide.study import Study
    from hygro.study.varied import Triangular, Uniform

    vary = {
        "rain_leak": Triangular("0 %", "1 %", "3 %"),
        "winter_rh": Uniform("30 %", "50 %"),
        "factor.sheathing.vapour": Uniform(0.7, 1.4),
        "layers.sheathing.thickness": Uniform("10 mm", "14 mm"),
    }
    found = {}
    for turn in ("made", "resumed"):
        with Meter() as meter:
            study = Study("demonstration", wall=WALL, vary=vary, leaks="all", samples=100_000,
                          store=file, name="dry")  # fmt: skip
            left = study.status().left
        study.close()
        assert left == 100_000
        found[f"{turn}, s of a core"] = meter.used
    return found


TURNS, RUNS = 3, 384
"""So often bare lanes and studies of so many runs, near those of a full map, are timed in turn.

The best of each counts, since a machine's pace drifts.
"""


def pool(file: Path) -> Found:
    """Full lanes bare, then the wall as a study in this process and in one for each core.

    What workers are copies of has started with the first pool; their own start is counted in. Their
    measure is bare lanes on all cores: those share memory, and a core alone is a tenth faster.
    """
    from hygro.solve.ensemble import run_many

    cases = bare_cases(64)

    def bare(threads: int) -> float:
        with Meter(memory=False) as meter:
            for _ in run_many(cases * (RUNS // len(cases)), threads=threads):
                pass
        return meter.used / RUNS

    def studied(name: str, processes: int) -> float:
        study = humid(RUNS, file.with_name(f"{name}.study"))
        with Meter(memory=False) as meter:
            study.run(processes=processes)
        study.close()
        return meter.used / RUNS

    for _ in run_many(cases[:8], threads=1):  # compiled, and warm
        pass
    turns = [
        (bare(1), bare(CORES), studied(f"one{turn}", 1), studied(f"many{turn}", CORES))
        for turn in range(TURNS)
    ]
    alone, all_cores, one, many = map(min, zip(*turns, strict=True))
    years = 2.0
    return {
        "bare, wall-years/s of a core": years / alone,
        "bare on all cores, wall-years/s of a core": years / all_cores,
        "study, wall-years/s of a core": years / one,
        "of bare, one process": alone / one,
        "of bare on all cores, pool with its workers' start": all_cores / many,
    }


def humid(count: int, store: Path | None = None) -> Study:
    """A study of one wall over winter humidity."""
    from hygro.decide.study import Study
    from hygro.study.varied import Range

    vary = {"winter_rh": Range("20 %", "60 %", count)}
    return Study("demonstration", wall=WALL, vary=vary, leaks="all", store=store, name="pool")


def bare_cases(count: int) -> list[tuple[Wall, Loads]]:
    """Walls and loads of such a study, made before anything is timed."""
    from hygro.decide.base import room_of, wall_of
    from hygro.record.given import given_loads

    plan = humid(count).plan
    cases = []
    for point in range(count):
        tables = plan.tables(point)
        wall, room = wall_of(tables["wall"], WALL), room_of(tables["room"], {})
        cases.append((wall, given_loads(wall, plan.climate(tables).data, room)[0]))
    return cases


def plane() -> dict[str, object]:
    """What the maps vary."""
    from hygro.study.varied import Range

    return {"outboard_share": Range("5 %", "95 %", 20), "winter_rh": Range("20 %", "60 %", 20)}


def full_map(file: Path) -> Found:
    """20 by 20 points, one leaky run of two years each."""
    from hygro.decide.map import make_map
    from hygro.decide.study import Study

    study = Study("demonstration", wall=WALL, vary=plane(), leaks="all", store=file, name="full")
    with Meter() as meter:
        make_map(study, full=True, processes=CORES)
    study.close()
    return {"wall-years": 800.0, **meter.told(800.0)}


def refined_map(file: Path) -> Found:
    """The same map along its line, with the four runs of the verdict."""
    from hygro.decide.map import make_map
    from hygro.decide.study import Study

    study = Study("demonstration", wall=WALL, vary=plane(), store=file, name="refined")
    with Meter() as meter:
        found = make_map(study, processes=CORES)
    study.close()
    years = 2.0 * len(found.plan.distinct)
    return {"points": float(len(found.results)), "wall-years": years, **meter.told(years)}


def big_sample(file: Path) -> Found:
    """2 000 draws of one wall-year."""
    from dataclasses import replace

    import numpy as np

    from hygro.case import load
    from hygro.decide.sample import make_sample
    from hygro.decide.study import Study
    from hygro.study.varied import Triangular, Uniform

    case = replace(load("demonstration"), years=1, repeat="once")
    vary = {"rain_leak": Triangular("0 %", "1 %", "3 %"), "winter_rh": Uniform("30 %", "50 %"),
            "factor.sheathing.vapour": Uniform(0.7, 1.4)}  # fmt: skip
    study = Study(case, wall=WALL, vary=vary, leaks="all", samples=2000, store=file, name="sample")
    with Meter() as meter:
        found = make_sample(study, processes=CORES)
    study.close()
    content = 100 * float(np.median(found.number("mc_30d_max")))
    return {"wall-years": 2000.0, **meter.told(2000.0), "median of peak MC, %": content}


def reserves(_: Path) -> Found:
    """What `compare` costs for the demonstration, and its two searches beside it."""
    from hygro.case import judging, load, prepare
    from hygro.study.bearing import with_reserves
    from hygro.study.compare import paired
    from hygro.study.perform import perform
    from hygro.study.plan import Candidate, plan

    case, climate = prepare(load("demonstration"))
    walls = [item for item in case.walls if "wet" not in item.name]
    how = {"settings": case.settings, "judging": judging(case)}
    runs = plan([Candidate(item.wall, item.room) for item in walls], repeat=case.repeat)
    with Meter() as alone:
        compared = paired(perform(runs, climate, threads=True, **how))  # type: ignore[arg-type]
    given = {item.name: (item.wall, item.room) for item in walls}
    found = {"compare, s of a core a wall": alone.used / len(walls)}
    for word, whole in (("ranking", False), ("whole", True)):
        with Meter() as meter:
            borne = with_reserves(compared, given, climate, whole=whole, repeat=case.repeat, **how)
        asked = sum(item.reserve is not None for item in borne)
        found[f"{word}, s of a core a wall"] = meter.used / asked
    return found


ALL: dict[str, Callable[[Path], Found]] = {
    "plan": dry_plan,
    "pool": pool,
    "map": full_map,
    "refined": refined_map,
    "sample": big_sample,
    "reserve": reserves,
}

if __name__ == "__main__":
    main(sys.argv[1:])
