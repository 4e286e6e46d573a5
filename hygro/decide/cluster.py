"""A Dask cluster that does the batches of a study: tasks there, results stored by who asked.

Owns the connection, what is sent, and what happens when a worker, the scheduler or this process
ends. Needs the package distributed (`pip install "hygro[cluster]"`).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from hygro.decide.rate import Row
from hygro.decide.runner import Pool
from hygro.decide.work import AnotherEngineError, Shared, Task, batch_rows
from hygro.errors import InputError, SolveError

if TYPE_CHECKING:
    from distributed import Client, Future

PATIENCE = 10.0
"""How long to try to reach a scheduler. [s]"""
AHEAD = 2
"""Batches that wait for each thread of a worker, so that none is idle."""
TRIES = 3
"""How often a batch is begun anew after its worker ended."""


@contextmanager
def connected(address: str) -> Iterator[Client]:
    """Connect to a scheduler.

    Raises
    ------
    InputError
        distributed is not installed, or nobody answers at the address.
    """
    try:
        from distributed import Client
    except ImportError as error:
        raise InputError(
            'a cluster needs the package distributed: pip install "hygro[cluster]"'
        ) from error
    try:
        client = Client(address, timeout=PATIENCE, set_as_default=False)
    except (OSError, ValueError, TimeoutError) as error:
        raise InputError(
            f"--cluster {address}: no scheduler answers there ({type(error).__name__}); is it "
            "running, and is the address that which it printed, tcp://HOST:8786?"
        ) from error
    try:
        yield client
    finally:
        client.close(timeout=2)


@contextmanager
def pool_of(address: str | None) -> Iterator[Pool | None]:
    """The pool at an address; None without one."""
    if address is None:
        yield None
        return
    with connected(address) as client:
        yield cluster_pool(client)


def cluster_pool(client: Client) -> Pool:
    """Return the pool of a `distributed.Client`: batches of up to eight walls a task."""

    def pool(
        shared: Shared, batches: Iterator[tuple[Task, ...]], tick: Callable[[], None]
    ) -> Iterator[list[Row]]:
        yield from _streamed(client, shared, batches, tick)

    return pool


def _streamed(
    client: Client, shared: Shared, batches: Iterator[tuple[Task, ...]], tick: Callable[[], None]
) -> Iterator[list[Row]]:
    from distributed import CancelledError, KilledWorker, TimeoutError, wait

    _check_workers(client)
    sent, tries = _sent(client, shared), 0
    running: dict[Future[list[Row]], tuple[Task, ...]] = {}
    try:
        while True:
            for batch in _some(batches, _room(client) - len(running)):
                running[_begun(client, sent, batch, tries)] = batch
            if not running:
                return
            done: set[Future[list[Row]]] = set()
            try:
                with client.as_current():
                    done = wait(list(running), timeout=1.0, return_when="FIRST_COMPLETED").done
            except TimeoutError:
                _check_alive(client)
            except CancelledError:
                # what batches have in common has gone with the only worker that had it
                _check_alive(client)
                tries += 1
                if tries > TRIES:
                    raise
                sent = _sent(client, shared)
                running = {
                    _begun(client, sent, batch, tries) if future.cancelled() else future: batch
                    for future, batch in running.items()
                }
            tick()
            for future in done:
                del running[future]
                yield future.result()
    except AnotherEngineError as error:
        raise InputError(str(error)) from None
    except (KilledWorker, CancelledError, OSError) as error:
        raise SolveError(
            f"the cluster ended before its runs were done ({type(error).__name__}); what was "
            "finished is kept, the same command goes on"
        ) from error
    finally:
        for future in running:
            future.release()


def _sent(client: Client, shared: Shared) -> Future[Shared]:
    """Put what all batches have in common on the workers there are: others fetch it from them."""
    return client.scatter(shared, broadcast=True, hash=False, timeout=PATIENCE)


def _begun(
    client: Client, sent: Future[Shared], batch: tuple[Task, ...], tries: int
) -> Future[list[Row]]:
    name = f"hygro-{batch[0].sha256[:16]}-{len(batch)}-{tries}"
    return client.submit(batch_rows, sent, 0, batch, None, key=name, pure=False, retries=TRIES)


def _check_workers(client: Client) -> None:
    try:
        client.wait_for_workers(1, timeout=PATIENCE)
    except TimeoutError:
        place = client.scheduler.address if client.scheduler else "this address"
        raise InputError(
            f"the cluster at {place} has no worker; start some with dask worker ADDRESS"
        ) from None


def _room(client: Client) -> int:
    """Batches that may be on the way: some for each thread of every worker, at least a few."""
    threads = sum(client.nthreads().values())
    return max(AHEAD * threads, 2)


def _some(batches: Iterator[tuple[Task, ...]], count: int) -> Iterator[tuple[Task, ...]]:
    for _ in range(count):
        batch = next(batches, None)
        if batch is None:
            return
        yield batch


def _check_alive(client: Client) -> None:
    """Raise where the scheduler has gone."""
    if client.status != "running":
        raise OSError(f"the client is {client.status}")
