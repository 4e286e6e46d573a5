"""Fills the numbers of the pages from the files of results.

    python docs/make_numbers.py

A number stands between `<!-- number: KEY -->` and `<!-- end -->`; what a key says is a function of
`measured`, which reads what `hygro validate --json` and the benchmarks have written. Nothing
between the marks is typed by hand.
"""

from __future__ import annotations

import re
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
import measured

ROOT = Path(__file__).parents[1]
MARKED = re.compile(r"(<!-- number: (\S+) -->)(.*?)(<!-- end -->)", re.DOTALL)


def pages() -> list[Path]:
    """Every page that may hold numbers."""
    return [ROOT / "README.md", *sorted((ROOT / "docs").glob("*.md"))]


def filled(text: str) -> str:
    """Return the text of a page with its numbers.

    Raises
    ------
    KeyError
        A mark names a number that there is not.
    """
    return MARKED.sub(lambda m: m[1] + _as_it_stands(measured.NUMBERS[m[2]]()) + m[4], text)


def _as_it_stands(found: str) -> str:
    """A table has lines of its own, a number has none."""
    return f"\n\n{found}\n\n" if "\n" in found else found


def main() -> None:
    """Write every page whose numbers have changed."""
    for path in pages():
        text = path.read_text(encoding="utf-8")
        if filled(text) != text:
            path.write_text(filled(text), encoding="utf-8")
            print(path.relative_to(ROOT))


if __name__ == "__main__":
    main()
