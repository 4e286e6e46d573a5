"""The data files of this package. Owns their reading; knows nothing of what they mean."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files
from typing import Any

R_IP = 0.17611
"""One ft²·h·°F/Btu. [m²·K/W]"""


@cache
def table(name: str) -> dict[str, Any]:
    """Data file of this package by name, parsed."""
    return tomllib.loads((files("hygro.wall") / "data" / f"{name}.toml").read_text("utf-8"))
