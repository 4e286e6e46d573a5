"""The figures of the questions: one comparison of the walls that they name, then a figure each.

Where a question's own command leaves the figure, that command is run.

Made when the site is built, and again only after the engine or the list of figures has changed.
"""

from __future__ import annotations

import hashlib
import os
import re
import shlex
import shutil
import subprocess
import sys
import tempfile
import tomllib
from pathlib import Path
from typing import Any

from sphinx.application import Sphinx

from hygro.case.criteria import judge_stored
from hygro.decide.engine import engine_name
from hygro.record.files import load
from hygro.show.course import course
from hygro.show.drawn import write
from hygro.study.plan import ENDINGS, SERVICE, Scenario, slug
from hygro.study.trace import Trace, trace

DOCS = Path(__file__).parents[1]
LIST = DOCS / "questions.toml"
PAGE = "how-to"
QUESTION = re.compile(r"(?m)^(?=## \d+\. )")
CASES = DOCS.parent / "cases" / "questions"
FOLDER = DOCS / "_made"


def setup(app: Sphinx) -> dict[str, bool]:
    """Make the figures first, and put them behind the questions when the page is read."""
    app.connect("builder-inited", lambda _: make())
    app.connect("source-read", put)
    return {"parallel_read_safe": True}


def figures() -> dict[str, dict[str, Any]]:
    """Return what is drawn, by the number of the question."""
    return tomllib.loads(LIST.read_text(encoding="utf-8"))


def put(app: Sphinx, name: str, source: list[str]) -> None:
    """Add its figure to the end of each question."""
    if name == PAGE:
        source[0] = "".join(part + _figure(part) for part in QUESTION.split(source[0]))


def _figure(part: str) -> str:
    number = re.match(r"## (\d+)\. ", part)
    row = figures().get(number[1]) if number else None
    if number is None or row is None:
        return ""
    caption = row["caption"]
    if "plot" in row:
        caption += f" (`hygro plot {row['plot'][0]}`)"
    return f"```{{figure}} _made/{number[1]}.png\n:alt: {row['caption']}\n\n{caption}\n```\n\n"


def commands() -> dict[str, list[str]]:
    """Return the command that answers each question, without the name of the program."""
    page = (DOCS / f"{PAGE}.md").read_text(encoding="utf-8")
    found = (re.match(r"## (\d+)\. .*?```sh\nhygro (.*?)\n```", part, re.DOTALL)
             for part in QUESTION.split(page))  # fmt: skip
    return {match[1]: shlex.split(match[2]) for match in found if match}


def make() -> None:
    """Run the walls and draw every figure, unless that was done with this engine and this list."""
    page = DOCS / f"{PAGE}.md"
    told = b"".join(path.read_bytes() for path in (LIST, page, *sorted(CASES.glob("*.toml"))))
    key = f"{engine_name()} {hashlib.sha256(told).hexdigest()}"
    stamp = FOLDER / "made-by.txt"
    if stamp.is_file() and stamp.read_text(encoding="utf-8") == key:
        return
    FOLDER.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        compare(Path(folder))
        for number, row in figures().items():
            draw(Path(folder), number, row, FOLDER / f"{number}.png")
    stamp.write_text(key, encoding="utf-8")


def compare(runs: Path) -> None:
    """Run every wall that a figure names, tight and with its leaks."""
    rows = figures().values()
    walls = {run["wall"] for row in rows for run in row.get("runs", ())}
    walls |= {wall for row in rows for wall in row.get("walls", ())}
    chosen = [word for wall in sorted(walls) for word in ("--wall", wall)]
    hygro(runs, "compare", "questions", *chosen, "--no-reserve", "--out", ".")
    hygro(runs, "compare", "questions/hot", "--no-reserve", "--out", ".")


def draw(runs: Path, number: str, row: dict[str, Any], path: Path) -> None:
    """Draw one figure."""
    if "figure" in row:
        hygro(runs, *commands()[number], "--out", number)
        shutil.copy(runs / number / row["figure"], path)
    elif "plot" in row:
        hygro(runs, "plot", *row["plot"], "--out", str(path))
    else:
        write(course([drawn(runs, **run) for run in row["runs"]]), path)


def drawn(
    runs: Path, label: str, wall: str, leak: Scenario = "tight", *, closing: bool = False
) -> tuple[str, Trace]:
    """Label and daily series of one run of the comparison, at the sheathing."""
    name = f"{slug(wall)}{ENDINGS[leak]}{'' if closing else SERVICE}.nc"
    record = load(runs / name)
    return label, trace(record, judge_stored(record))


def hygro(folder: Path, *arguments: str) -> None:
    """Run a command in a folder; one that fails ends the build."""
    command = [sys.executable, "-m", "hygro.cli", *arguments]
    done = subprocess.run(
        command, cwd=folder, capture_output=True, text=True, check=False,
        env={**os.environ, "PYTHONPATH": str(DOCS.parent)},
    )  # fmt: skip
    if done.returncode:
        raise RuntimeError(f"hygro {' '.join(arguments)}:\n{done.stdout}{done.stderr}")
