"""What a command of a fresh interpreter loads. Owns no expected value."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Sequence

CODE = """
import sys
from typer.testing import CliRunner
from hygro.cli import app
result = CliRunner().invoke(app, {arguments})
assert result.exit_code == 0, result.output
assert {word!r} in result.output, result.output
print(sorted(set({names}) & set(sys.modules)))
"""


def loaded(arguments: Sequence[str], names: Sequence[str], *, word: str) -> str:
    """Which of some modules a command loads, as a list in text; its output must hold a word."""
    code = CODE.format(arguments=list(arguments), names=list(names), word=word)
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    return run.stdout.strip()
