"""A study in Python: what varies, its plan, its store and its results. The door to this package."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

import xarray as xr

from hygro.case import Case, load
from hygro.decide.base import Base, base_of, base_of_case
from hygro.decide.draw import Method
from hygro.decide.export import study_dataset
from hygro.decide.plan import Plan, make_plan
from hygro.decide.point import PointResult, point_results
from hygro.decide.rate import Row
from hygro.decide.runner import Pool, Progress, run_plan
from hygro.decide.store import Status, Store
from hygro.decide.store_file import holds_nothing
from hygro.declare import plain, read_or_refuse
from hygro.errors import InputError, must_be, near_matches
from hygro.problems import RefusedError
from hygro.room.models import Room
from hygro.solve.settings import Settings
from hygro.study.plan import Repeat
from hygro.study.runs import Judging
from hygro.study.varied import Leaking, Range, StudyEntry, Varied
from hygro.types import Data, Plain
from hygro.units import count
from hygro.wall.wall import Wall

if TYPE_CHECKING:
    import pandas as pd

SUFFIX = ".study"
"""What the file name of a store ends in."""
HERE = Path()
"""The working folder."""


def store_file(store: Path | None, name: str, folder: Path = HERE) -> Path:
    """Return where the runs of a study lie: a store that is given, or NAME.study in a folder."""
    return store or folder / f"{name}{SUFFIX}"


class Study:
    """Many runs of one wall, planned before the first is made, stored as they end.

    Parameters
    ----------
    case : Case, path, or Wall
        A case with the wall in it, or a wall with `climate` and `room`.
    climate, room
        With a wall, as in `hygro.simulate`.
    vary : mapping
        What varies, by a name of the trade or a path: a list of values, a range or a distribution;
        the first named varies slowest. See `hygro.decide.trade.TRADE` for the names.
    wall : str, optional
        Which wall of the case; left out: the only one.
    leaks : {"verdict", "all", "none"}
        Runs at every point: tight and with each kind of leak; with all leaks; without any.
    samples, method, seed
        Of draws, where distributions vary; see `StudyEntry`.
    store : path, optional
        File in which results are kept; left out: in memory, for as long as the study is.
    name : str
        By which a store knows the study.
    device : {"cpu", "gpu"}
        What marches the runs: the processor, or a graphics card (`pip install "hygro[gpu]"`),
        whose results are kept apart; see `docs/gpu.md`.
    settings, judging, repeat
        With a wall, as in `hygro.compare`.

    Raises
    ------
    InputError
        Nothing varies, a name leads nowhere, a value is out of its bounds, the device is unknown or
        lacks its package, or the store is that of another case: before anything runs.

    Examples
    --------
    >>> study = Study("demonstration", wall="all outboard", vary={"winter_rh": [0.3, 0.5]})
    ... # doctest: +SKIP
    """

    def __init__(
        self,
        case: Case | Wall | str | Path,
        climate: xr.Dataset | None = None,
        room: Room | None = None,
        *,
        vary: Mapping[str, Varied | Plain],
        wall: str | None = None,
        leaks: Leaking = "verdict",
        samples: int = 256,
        method: Method = "sobol",
        seed: int = 1,
        store: str | Path | None = None,
        name: str = "study",
        keep: bool = False,
        device: str = "cpu",
        settings: Settings | None = None,
        judging: Judging | None = None,
        repeat: Repeat = "as needed",
    ) -> None:
        must_be(vary, (Mapping, type(None)), "vary", "a dict: what varies, and over what")
        if not vary:
            raise InputError("study: nothing varies; give at least one entry in 'vary'")
        table = {"vary": dict(vary), "wall": wall, "leaks": leaks, "samples": samples,
                 "method": method, "seed": seed, "keep": keep}  # fmt: skip
        self.entry: StudyEntry = read_or_refuse(StudyEntry, table, f"study '{name}'")
        self.name = name
        self.file = None if store is None else Path(store)
        self.base = _base(case, climate, room, self.entry, settings, judging, repeat)
        self.plan: Plan = make_plan(
            self.base,
            self.entry.vary,
            leaks=self.entry.leaks,
            samples=self.entry.samples,
            method=self.entry.method,
            seed=self.entry.seed,
            device=device,
        )

    @property
    def ranges(self) -> tuple[str, ...]:
        """Names of what varies over a range."""
        return tuple(name for name, how in self.entry.vary.items() if isinstance(how, Range))

    @cached_property
    def store(self) -> Store:
        """The store with the plan in it."""
        store = Store(self.file or Path(":memory:"))
        try:
            store.put_plan(self.name, self.plan, self.spec())
        except BaseException:
            store.close()
            raise
        return store

    def ask(self, plan: Plan) -> None:
        """Put a plan of other points, which a question to the study needs, in the store."""
        self.store.put_plan(self.name, plan, self.spec(), self.plan)

    def spec(self) -> Data:
        """The study as a table, with the case and the wall it is of, and what marches it."""
        told = plain(self.entry)
        of = {"case": self.base.name, "wall": self.base.wall.name}
        return {**told, **of, "device": self.plan.device}

    def run(
        self,
        *,
        processes: int | None = None,
        client: Plain = None,
        progress: Callable[[Progress], None] | None = None,
    ) -> Study:
        """Make the runs that the store does not hold yet; Ctrl-C and again goes on.

        Parameters
        ----------
        processes : int, optional
            Processes that do the runs, faster where there are many; a script then needs
            ``if __name__ == "__main__"``. 1 runs in this one; left out: threads. They rate what a
            card marches; left out there: one for each core.
        client : dask.distributed.Client, optional
            A cluster that does the work instead.
        progress : callable, optional
            Called after every batch.

        Raises
        ------
        SolveError
            A process ended before its batch was done; what was finished is kept.
        """
        pool: Pool | None = None
        if client is not None:
            from hygro.decide.cluster import cluster_pool

            pool = cluster_pool(client)
        run_plan(self.plan, self.store, processes=processes, pool=pool, keep=self._kept(),
                 progress=progress)  # fmt: skip
        self.__dict__.pop("rows", None)
        return self

    def _kept(self) -> Path | None:
        if not self.entry.keep:
            return None
        if self.file is None:
            raise InputError("keep: hourly records lie beside a store; give one")
        folder = self.file.with_name(f"{self.file.name}-records")
        folder.mkdir(exist_ok=True)
        return folder

    def finished(self) -> set[str]:
        """Hashes of the runs that are stored; makes no file where there is none."""
        if self.file is None:
            return self.store.finished(self.plan.distinct)
        if holds_nothing(self.file):
            return set()
        with Store(self.file, read_only=True) as store:
            return store.finished(self.plan.distinct)

    def status(self) -> Status:
        """How far the study is."""
        return self.store.status(self.name)

    @cached_property
    def rows(self) -> dict[str, Row]:
        """Finished runs by their hash, as of the last `run`."""
        return self.store.rows(self.plan.distinct)

    def points(self) -> list[PointResult]:
        """What the runs of each point add up to."""
        return point_results(self.plan, self.rows)

    def to_dataset(self) -> xr.Dataset:
        """All results, with what varies as coordinates and every input's hash."""
        return study_dataset(self.plan, self.rows, self.spec())

    def to_frame(self) -> pd.DataFrame:
        """One row a run, with what varies, verdict and numbers as columns."""
        import pandas as pd

        rows = []
        for run in self.plan.runs:
            row = self.rows.get(run.sha256)
            told = {**self.plan.coordinates(run.point), "scenario": run.scenario}
            if row is not None:
                verdict = {k: getattr(row, k) for k in ("outcome", "passed", "margin", "decides")}
                told |= {**verdict, **row.numbers, "error": row.error}
            rows.append(told)
        return pd.DataFrame(rows)

    def close(self) -> None:
        """Close the store."""
        if "store" in self.__dict__:
            self.store.close()

    def __repr__(self) -> str:
        """Say what varies, and how many runs that is."""
        what = ", ".join(d.name for d in self.plan.dimensions)
        return (
            f"Study '{self.name}' of wall '{self.base.wall.name}': {what}; "
            f"{count(len(self.plan.points), 'point')}, {count(len(self.plan.distinct), 'run')}"
        )


def study_of(case: Case, name: str, *, store: Path | None = None, **changes: Plain) -> Study:
    """Return a study that a case declares.

    Raises
    ------
    InputError
        The case has no study of that name, or what varies in it cannot: as in `Study`, with file
        and table before it.
    """
    if name not in case.studies:
        known = near_matches(name, case.studies) if case.studies else "it has no [study.NAME] table"
        raise InputError(f"{case.path}: no study '{name}'; {known}")
    table = {k: v for k, v in vars(case.studies[name]).items() if k != "note"}
    try:
        return Study(case, **{**table, **changes}, store=store, name=name)
    except RefusedError:
        raise  # says where already
    except InputError as error:
        told = str(error).removeprefix(f"{case.path}: ")
        raise InputError(f"{case.path}: study.{name}: {told}") from None


def _base(
    case: Case | Wall | str | Path,
    climate: xr.Dataset | None,
    room: Room | None,
    entry: StudyEntry,
    settings: Settings | None,
    judging: Judging | None,
    repeat: Repeat,
) -> Base:
    if isinstance(case, Wall):
        if climate is None or room is None:
            raise InputError("study: a wall needs a climate and a room beside it")
        return base_of(case, climate, room, settings=settings, judging=judging, repeat=repeat)
    if climate is not None or room is not None:
        raise InputError("study: a case has its climate and rooms; give none beside it")
    loaded = case if isinstance(case, Case) else load(case)
    return base_of_case(loaded, loaded.wall(entry.wall).name)
