"""A study on a Dask cluster of this machine: a scheduler and two workers in processes of their own.

Whatever is killed in the middle, the rows are those of one machine to the bit.
"""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from study_cases import STUDY, made_at, started, stored, typed, until, write_study

from hygro.decide import cluster, work
from hygro.errors import InputError

pytest.importorskip("distributed")
ROOT = Path(__file__).parents[2]
RUNS = 96


@pytest.fixture
def case(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return write_study(tmp_path, STUDY)


class Machines:
    """A scheduler and workers."""

    def __init__(self, folder: Path) -> None:
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        self.folder, self.running = folder, list[subprocess.Popen[bytes]]()
        self.address = f"tcp://127.0.0.1:{self.port}"

    def start(self, kind: str, *arguments: str, **more: str) -> subprocess.Popen[bytes]:
        """Start a scheduler or a worker."""
        path = {**os.environ, "PYTHONPATH": str(ROOT), **more}
        words = [sys.executable, "-m", f"distributed.cli.dask_{kind}", *arguments]
        with (self.folder / f"{kind}.log").open("ab") as log:
            found = subprocess.Popen(words, cwd=self.folder, env=path, stdout=log, stderr=log)
        self.running.append(found)
        return found

    def scheduler(self) -> subprocess.Popen[bytes]:
        """Start the scheduler and wait until it listens."""
        found = self.start("scheduler", "--host", "127.0.0.1", "--port", str(self.port),
                           "--no-dashboard")  # fmt: skip
        for _ in range(600):
            with socket.socket() as knock:
                if knock.connect_ex(("127.0.0.1", self.port)) == 0:
                    return found
            time.sleep(0.1)
        raise AssertionError("no scheduler")

    def worker(self, **more: str) -> subprocess.Popen[bytes]:
        """Start a worker of one thread."""
        return self.start("worker", self.address, "--nthreads", "1", "--no-nanny",
                          "--no-dashboard", **more)  # fmt: skip

    def stop(self) -> None:
        """End all of them."""
        for process in self.running:
            if process.poll() is None:
                process.kill()
            process.wait()


@pytest.fixture
def machines(tmp_path: Path) -> Iterator[Machines]:
    found = Machines(tmp_path)
    yield found
    found.stop()


@pytest.fixture(scope="module")
def alone(tmp_path_factory: pytest.TempPathFactory) -> dict[str, tuple[object, ...]]:
    """Rows of the same study on one machine."""
    folder = tmp_path_factory.mktemp("alone")
    path = write_study(folder, STUDY)
    store = folder / "alone.study"
    assert typed("run", str(path), "many", "--store", str(store)).exit_code == 0
    return stored(str(store))


def test_a_worker_killed_in_the_middle_changes_nothing(
    case: Path, machines: Machines, alone: dict[str, tuple[object, ...]]
) -> None:
    machines.scheduler()
    first, _ = machines.worker(), machines.worker()
    client = started(case, "study", "run", str(case), "many", "--cluster", machines.address)
    until(8, case.with_name("many.study"))
    os.kill(first.pid, signal.SIGKILL)
    _, told = client.communicate(timeout=300)
    assert client.returncode == 0, told
    assert f"{RUNS} runs made" in told
    assert stored("many.study") == alone


def test_what_only_a_worker_that_was_killed_had_is_sent_again(
    case: Path, machines: Machines, alone: dict[str, tuple[object, ...]]
) -> None:
    """The weather and the wall went with it; the next worker came when it had gone."""
    machines.scheduler()
    first = machines.worker()
    client = started(case, "study", "run", str(case), "many", "--cluster", machines.address)
    until(8, case.with_name("many.study"))
    os.kill(first.pid, signal.SIGKILL)
    machines.worker()
    _, told = client.communicate(timeout=300)
    assert client.returncode == 0, told
    assert stored("many.study") == alone


def test_scheduler_and_client_killed_leave_a_store_that_goes_on(
    case: Path, machines: Machines, alone: dict[str, tuple[object, ...]]
) -> None:
    scheduler = machines.scheduler()
    workers = [machines.worker(), machines.worker()]
    client = started(case, "study", "run", str(case), "many", "--cluster", machines.address)
    until(8, case.with_name("many.study"))
    for process in (scheduler, *workers):
        os.kill(process.pid, signal.SIGKILL)
        process.wait()
    _, told = client.communicate(timeout=120)
    assert client.returncode == 2, told
    assert "what was finished is kept, the same command goes on" in told
    kept = made_at("many.study")
    assert 8 <= len(kept) < RUNS

    machines.scheduler()
    machines.worker()
    machines.worker()
    second = started(case, "study", "resume", str(case), "many", "--cluster", machines.address)
    until(len(kept) + 8, case.with_name("many.study"))
    os.kill(second.pid, signal.SIGKILL)
    second.wait()
    more = made_at("many.study")
    third = started(case, "study", "resume", str(case), "many", "--cluster", machines.address)
    _, told = third.communicate(timeout=300)
    assert third.returncode == 0, told
    assert f"{RUNS - len(more)} runs made" in told
    assert stored("many.study") == alone
    final = made_at("many.study")
    assert all(final[sha] == at for sha, at in more.items())  # nothing finished was made again


def test_a_cluster_that_cannot_be_reached_is_said(
    case: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(cluster, "PATIENCE", 1.0)
    answer = typed("run", str(case), "one", "--cluster", "tcp://127.0.0.1:9")
    assert answer.exit_code == 2
    assert "no scheduler answers there" in answer.stderr


def test_a_cluster_without_workers_is_said(
    case: Path, machines: Machines, monkeypatch: pytest.MonkeyPatch
) -> None:
    machines.scheduler()
    monkeypatch.setattr(cluster, "PATIENCE", 2.0)
    answer = typed("run", str(case), "one", "--cluster", machines.address)
    assert answer.exit_code == 2
    assert "has no worker; start some" in answer.stderr


def test_a_worker_with_another_version_is_refused_and_nothing_stored(
    case: Path, machines: Machines, tmp_path: Path
) -> None:
    other = tmp_path / "other"
    other.mkdir()
    (other / "sitecustomize.py").write_text(
        "import hygro.decide.engine as e\n"
        "e.engine_hash = lambda: 'another' * 10\n"
        "import hygro.decide.work as w\n"
        "w.engine_hash = e.engine_hash\n"
    )
    machines.scheduler()
    machines.worker(PYTHONPATH=f"{other}:{ROOT}")
    answer = typed("run", str(case), "one", "--cluster", machines.address)
    assert answer.exit_code == 2, answer.output
    assert "a worker has engine anothera" in answer.stderr
    assert "install the same versions" in answer.stderr
    assert stored("one.study") == {}


def test_a_batch_refuses_a_plan_of_another_engine() -> None:
    shared = work.Shared("w", {}, None, "once", {}, None, "another")  # type: ignore[arg-type]
    with pytest.raises(work.AnotherEngineError, match="install the same versions"):
        work.batch_rows(shared, 0, (), None)


def test_without_distributed_it_is_said_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(InputError, match=r"pip install \"hygro\[cluster\]\""):
        cluster.connected("tcp://127.0.0.1:9").__enter__()
