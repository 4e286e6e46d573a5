"""What is wrong with a case file, all of it at once."""

from __future__ import annotations

from hygro.problems import RefusedError


class CaseError(RefusedError):
    """A case file with one or more problems; `problems` has them one by one."""
