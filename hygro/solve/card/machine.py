"""What a machine of many threads must be able to do."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import AbstractContextManager
from typing import Any, Protocol

from numpy.typing import NDArray


class Machine(Protocol):
    """What runs a function of `threads` for each wall, and the memory that it works in."""

    def put(self, array: NDArray[Any]) -> Any:
        """Copy there."""

    def empty(self, shape: tuple[int, ...]) -> Any:
        """Room there."""

    def by_wall(self, arrays: Mapping[str, Any], walls: int) -> dict[str, NDArray[Any]]:
        """Copies of arrays in tiles by their names, (walls, rows[, columns]) each.

        They hold until an array of the same name is asked for.
        """

    def keeping(self) -> AbstractContextManager[None]:
        """Within, nothing that was put there is given back: everybody waits for that."""

    def free(self) -> int:
        """Memory there that is free. [bytes]"""

    def run(self, kernel: str, walls: int, *args: object) -> None:
        """Call the function for each wall."""
