"""The graphics card: its memory and its compiler. The only file that needs `hygro[gpu]`.

Code for the card is made without contraction of products and sums, so that it rounds as a processor
does; the tables are read with fused multiply-adds on both.
"""

from __future__ import annotations

import math
import re
import threading
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from functools import cache
from importlib.metadata import version
from typing import Any

import numpy as np
from numba import types
from numpy.typing import NDArray

from hygro.errors import InputError
from hygro.solve.card import threads
from hygro.solve.card.tiles import TILE, Tiles
from hygro.solve.lanes import Type

BLOCK = 64
"""Threads of a block: two tiles; more makes no use of the registers faster."""
FEW = 8192
"""Walls up to which a block is one tile, so that more of the card takes part (our choice)."""


APART = TILE + 1
"""Values from row to row of a block in shared memory: a column lies in other banks then."""
QUEUES = 2
"""Queues of work of a card: while some copy results, others compute (our choice)."""


def cards() -> list[Card]:
    """The queues of all cards that answer, those of one card apart from each other.

    Raises
    ------
    InputError
        The package or a card that answers is missing: says what to install.
    """
    count = Card().count()
    return [Card(k) for _ in range(QUEUES) for k in range(count)]


class Card:
    """A queue of work of one card as a `batch.Machine`.

    Raises
    ------
    InputError
        The package or a card that answers is missing: says what to install.
    """

    def __init__(
        self, number: int = 0, *, block: int = BLOCK, registers: int | None = None
    ) -> None:
        self._block, self._registers = block, registers
        self._cuda = compiler()
        if not self._cuda.is_available():
            raise InputError(
                "device = 'gpu': no NVIDIA card answers: needs a card of compute capability 7 or "
                "later and its driver ('nvidia-smi' shows both); without one leave device out"
            )
        self._place = self._cuda.gpus[number]
        with self._place:
            self._queue = self._cuda.stream()
        self._pinned: dict[str, Any] = {}
        self._turned: Any = None

    def count(self) -> int:
        """How many cards answer."""
        return len(self._cuda.gpus)

    def put(self, array: NDArray[Any]) -> Any:
        """A copy in the memory of the card."""
        with self._place:
            made = self._cuda.to_device(np.ascontiguousarray(array), stream=self._queue)
            self._queue.synchronize()  # the memory that is copied may go
            return made

    def empty(self, shape: tuple[int, ...]) -> Any:
        """Room for numbers in the memory of the card."""
        with self._place:
            return self._cuda.device_array(shape, stream=self._queue)

    def by_wall(self, arrays: Mapping[str, Any], walls: int) -> dict[str, NDArray[Any]]:
        """Arrays in tiles, turned on the card: see `batch.Machine`."""
        found = {}
        with self._place:
            for name, array in arrays.items():
                tiles, rows = array.shape[0], math.prod(array.shape[1:-1])
                count = tiles * TILE * rows
                if count:
                    self._turn(array, rows, count).copy_to_host(
                        self._room(name, count), stream=self._queue
                    )
                whole = self._room(name, count)[:count]
                found[name] = whole.reshape(tiles * TILE, *array.shape[1:-1])[:walls]
            self._queue.synchronize()
        return found

    def _turn(self, array: Any, rows: int, count: int) -> Any:
        """What is in tiles wall by wall, in room of the card that is used again."""
        if self._turned is None or self._turned.size < count:
            self._turned = self._cuda.device_array(count, stream=self._queue)
        flat = array.reshape(array.shape[0], rows, TILE)
        turn = _turning()
        turn[(array.shape[0], -(-rows // TILE)), (TILE, 8), self._queue](flat, self._turned)
        return self._turned[:count]

    def _room(self, name: str, count: int) -> NDArray[Any]:
        """Memory here that the card copies to by itself, used again."""
        if name not in self._pinned or len(self._pinned[name]) < count:
            self._pinned[name] = self._cuda.pinned_array(max(count, 1))
        found: NDArray[Any] = self._pinned[name]
        return found[:count] if count else found

    @contextmanager
    def keeping(self) -> Iterator[None]:
        """Within, no memory of the card is given back: all queues would wait for that."""
        with self._place:
            context = self._cuda.current_context()
        with context.defer_cleanup():
            yield

    def free(self) -> int:
        """Memory of the card that is free, a share for each queue. [bytes]"""
        with self._place:
            return int(self._cuda.current_context().get_memory_info()[0]) // QUEUES

    def run(self, kernel: str, walls: int, *args: object) -> None:
        """Call a function of `threads` for each wall, a thread each."""
        with self._place, _COMPILES, _as_meant():
            made, block = _launched(kernel, self._registers), TILE if walls <= FEW else self._block
            made[-(-walls // block), block, self._queue](walls, *args)

    def wait(self) -> None:
        """Return when all that was called has ended."""
        with self._place:
            self._queue.synchronize()

    def name(self) -> str:
        """The card as its maker calls it."""
        with self._place:
            found = self._cuda.get_current_device().name
        return found.decode() if isinstance(found, bytes) else found


_COMPILES = threading.RLock()
"""Held while the compiler is told how code is meant."""


@cache
def _turning() -> Any:
    """Tiles (tiles, rows, `TILE`) to walls one after the other, by way of shared memory."""
    cuda = compiler()

    def turn(tiles, walls):  # type: ignore[no-untyped-def]
        block = cuda.shared.array((TILE, APART), types.float64)
        tile, first, x = cuda.blockIdx.x, TILE * cuda.blockIdx.y, cuda.threadIdx.x
        rows = tiles.shape[1]
        for y in range(cuda.threadIdx.y, TILE, cuda.blockDim.y):
            if first + y < rows:
                block[y, x] = tiles[tile, first + y, x]
        cuda.syncthreads()
        for y in range(cuda.threadIdx.y, TILE, cuda.blockDim.y):
            if first + x < rows:
                walls[(tile * TILE + y) * rows + first + x] = block[x, y]

    return cuda.jit(turn)


@cache
def compiler() -> Any:
    """The compiler for cards.

    Raises
    ------
    InputError
        The package is missing or does not load.
    """
    try:
        import numba_cuda  # noqa: F401, what numba.cuda is taken from
        from numba import cuda
    except (ImportError, AttributeError) as error:
        raise InputError(
            f"device = 'gpu': needs the package numba-cuda ({error}): pip install \"hygro[gpu]\""
        ) from error
    return cuda


def compiler_name() -> str:
    """The package that compiles for cards, with its version; errors as `compiler`."""
    compiler()
    return f"numba-cuda {version('numba-cuda')}"


class _Addresses:
    """Hands tiles to a kernel: where they start, rows of a wall; room for a thread's place."""

    @staticmethod
    def prepare_args(ty: Type, val: Any, **_: object) -> tuple[Type, Any]:
        if not isinstance(val, Tiles):
            return ty, val
        start = val.array.device_ctypes_pointer.value or 0
        return types.UniTuple(types.uint64, 4), (start, val.array.shape[1], 0, 0)


@cache
def _launched(kernel: str, registers: int | None) -> Any:
    options = {} if registers is None else {"max_registers": registers}
    return compiler().jit(extensions=[_Addresses], lto=False, **options)(kernels()[kernel])


@cache
def kernels() -> dict[str, Callable[..., None]]:
    """What the compiler makes code of, by the function of `threads`: a thread finds its wall."""
    grid, march, report, add = (
        compiler().grid, threads.march_wall, threads.report_wall, threads.sum_wall
    )  # fmt: skip

    def march_wall(walls, pb, ld, of, states, works, control, results, tallies):  # type: ignore[no-untyped-def]
        g = grid(1)
        if g < walls:
            march(g, pb, ld, of, states, works, control, results, tallies)

    def report_wall(walls, pb, ld, of, hours, works, results):  # type: ignore[no-untyped-def]
        g = grid(1)
        if g < walls:
            report(g, pb, ld, of, hours, works, results)

    def sum_wall(walls, hours, results, sums):  # type: ignore[no-untyped-def]
        g = grid(1)
        if g < walls:
            add(g, hours, results, sums)

    return {f.__name__: f for f in (march_wall, report_wall, sum_wall)}


@contextmanager
def _as_meant() -> Iterator[None]:
    """Compile with products and sums rounded one by one, and with arrays that share no memory.

    The compiler has no words for either. Where arrays may overlap, no load may pass a store.
    """
    from numba.cuda.cudadrv import nvvm as made_by_numba

    nvvm: Any = made_by_numba
    before = nvvm.compile_ir

    def compile_ir(code: str | list[str], **options: object) -> Any:
        parts = [code] if isinstance(code, str) else code
        return before([_apart(part) for part in parts], **{**options, "fma": 0})

    nvvm.compile_ir = compile_ir
    try:
        yield
    finally:
        nvvm.compile_ir = before


def _apart(code: str) -> str:
    """The arguments of a kernel that are addresses, marked as of arrays apart."""
    if '!"kernel"' not in code:
        return code
    head = re.compile(r"^define void @.*\)", re.M)
    return head.sub(lambda found: found[0].replace('* %"', '* noalias %"'), code, count=1)
