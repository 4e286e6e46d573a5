"""The graphics card: its memory and its compiler. The only file that needs `hygro[gpu]`.

Code for the card is made without contraction of products and sums, so that it rounds as a processor
does; the tables are read with fused multiply-adds on both.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import cache
from typing import Any

import numpy as np
from numba import types
from numpy.typing import NDArray

from hygro.errors import InputError
from hygro.solve.card import threads
from hygro.solve.card.tiles import Tiles
from hygro.solve.lanes import Type

BLOCK = 64
"""Threads of a block: two tiles; more makes no use of the registers faster."""


class Card:
    """One card as a `batch.Machine`.

    Raises
    ------
    InputError
        The package or a card that answers is missing: says what to install.
    """

    def __init__(self, *, block: int = BLOCK, registers: int | None = None) -> None:
        self._block, self._registers = block, registers
        self._cuda = compiler()
        if not self._cuda.is_available():
            raise InputError(
                "device = 'gpu': no NVIDIA card answers: needs a card of compute capability 7 or "
                "later and its driver ('nvidia-smi' shows both); without one leave device out"
            )

    def put(self, array: NDArray[Any]) -> Any:
        """A copy in the memory of the card."""
        return self._cuda.to_device(np.ascontiguousarray(array))

    def empty(self, shape: tuple[int, ...]) -> Any:
        """Room for numbers in the memory of the card."""
        return self._cuda.device_array(shape)

    def get(self, array: Any) -> NDArray[Any]:
        """A copy of what stands in the memory of the card."""
        return array.copy_to_host()

    def free(self) -> int:
        """Memory of the card that is free. [bytes]"""
        return int(self._cuda.current_context().get_memory_info()[0])

    def run(self, kernel: str, walls: int, *args: object) -> None:
        """Call a function of `threads` for each wall, a thread each."""
        with _as_meant():
            made = _launched(kernel, self._registers)
            made[-(-walls // self._block), self._block](walls, *args)

    def wait(self) -> None:
        """Return when all that was called has ended."""
        self._cuda.synchronize()

    def name(self) -> str:
        """The card as its maker calls it."""
        found = self._cuda.get_current_device().name
        return found.decode() if isinstance(found, bytes) else found


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
