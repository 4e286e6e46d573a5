"""`python -m hygro.cli`."""

from __future__ import annotations

import sys

from hygro.cli.app import app

if __name__ == "__main__":
    sys.exit(app())
