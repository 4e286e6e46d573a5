"""One item of any kind: what is tried, and how long it may take. Owns the list of kinds."""

from __future__ import annotations

import time
import traceback
from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType
from typing import Any

from tests.fuzz import files, kills, walls
from tests.fuzz.subjects import SUBJECTS, make_all

KINDS = ("wall", *SUBJECTS, *kills.WAYS)
FILES: Mapping[str, float] = MappingProxyType(
    {"case": 0.4, "weather": 0.25, "record": 0.2, "store": 0.15}
)
"""How a number of files is shared out."""
PATIENCE = 300.0
"""An item that answers later hangs. [s]"""


def item(seed: int, kind: str, number: int, sound: Path) -> dict[str, Any]:
    """Try one item; what it raises is a fault of it."""
    began = time.monotonic()
    try:
        if kind == "wall":
            told = walls.tried(seed, number)
        elif kind in SUBJECTS:
            told = files.tried(seed, kind, number, sound)
        else:
            told = kills.tried(seed, kind, number)
    except Exception as error:  # noqa: BLE001
        where = traceback.extract_tb(error.__traceback__)[-1]
        place = f"{Path(where.filename).name}:{where.lineno}"
        told = {"faults": [f"{type(error).__name__}: {str(error)[:300]} ({place})"]}
    return {"kind": kind, "number": number, **told, "took": time.monotonic() - began}


def warm(sound: Path) -> None:
    """Make the sound files, and run a wall alone and in lanes so that what follows is compiled."""
    make_all(sound)
    walls.tried(0, 0, hours=24)
