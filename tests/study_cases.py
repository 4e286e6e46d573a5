"""A small case with a study, fast to run. Owns no expected value."""

from __future__ import annotations

from pathlib import Path

from case_files import write_case

QUICK = ('accuracy = "draft"', 'accuracy = "draft"\ntolerance = 10\nrepeat = "once"')


def write_study(folder: Path, text: str, *changes: tuple[str, str]) -> Path:
    """Write the small case with studies at its end."""
    path = write_case(folder, QUICK, *changes)
    path.write_text(path.read_text("utf-8") + text, encoding="utf-8")
    return path
