"""Puts this folder on the search path, so that test files can import the helpers beside it.

pytest does so for the folder of a conftest file; nothing else is needed here.
"""

from __future__ import annotations
