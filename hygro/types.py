"""Types that the files of the package share. Owns no behaviour."""

from __future__ import annotations

from typing import Any, TypeAlias

Data: TypeAlias = dict[str, Any]
"""A table parsed from a file, or one to be written: whoever reads a key knows what it holds."""
