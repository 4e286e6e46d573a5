"""A module that takes longer to be read than any test waits, as one that compiles does."""

from __future__ import annotations

import os
import time
from pathlib import Path

Path(os.environ["FOLDER"], "importing").touch()
time.sleep(600.0)
