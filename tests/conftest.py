"""Puts this folder on the search path, so that test files can import the helpers beside it.

pytest does that for the folder of a conftest file.
"""

from __future__ import annotations
