"""Types that the files of the package share. Owns no behaviour."""

from __future__ import annotations

from typing import Any, TypeAlias

Data: TypeAlias = dict[str, Any]
"""A table parsed from a file, or one to be written: whoever reads a key knows what it holds."""
Plain: TypeAlias = Any
"""A value of a table: number, text, truth, list or table, as TOML, JSON and a study hold it."""
