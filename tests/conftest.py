"""Puts this folder on the search path and gives the compiled kernels a fresh cache.

pytest does the first for the folder of a conftest file, so that test files can import the helpers
beside it. The compiler's cache on disk watches the file of the outer function only, so a session
starts with an empty folder; the workers of one session share it. Set HYGRO_TEST_CACHE to a folder
of your own to keep the compiled kernels between sessions.
"""

from __future__ import annotations

import os
import shutil
import tempfile

import pytest

_SHARED = "HYGRO_TEST_CACHE_OF_SESSION"
_OWNER = _SHARED not in os.environ
if _OWNER:
    os.environ[_SHARED] = os.environ.get("HYGRO_TEST_CACHE") or tempfile.mkdtemp(prefix="hygro-")
os.environ["NUMBA_CACHE_DIR"] = os.environ[_SHARED]


def pytest_unconfigure(config: pytest.Config) -> None:
    """The process that made the folder removes it."""
    if _OWNER and "HYGRO_TEST_CACHE" not in os.environ:
        shutil.rmtree(os.environ.pop(_SHARED), ignore_errors=True)
