"""Data files that a package ships. Owns their reading; knows nothing of what they mean."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files

from hygro.types import Data


@cache
def table(package: str, name: str) -> Data:
    """Data file NAME.toml in the folder `data` of a package, parsed."""
    return tomllib.loads((files(package) / "data" / f"{name}.toml").read_text("utf-8"))
