"""The deliberate errors fit the sources: each text stands there once, each named test exists."""

from __future__ import annotations

import subprocess
import sys
from collections import Counter
from dataclasses import replace
from pathlib import Path

import pytest

from tests.mutate import table
from tests.mutations import jobs
from tests.mutations.jobs import Kept, Result, Task
from tests.mutations.read import ROOT, mutations

KNOWN = mutations()


def test_every_error_can_be_made_and_has_tests_to_notice_it() -> None:
    assert [text for m in KNOWN for text in m.problems()] == []
    assert [m.why for m in KNOWN if not m.tests] == []


def test_no_two_errors_are_the_same() -> None:
    for key in ("why", "replacement"):
        seen = Counter((m.file, m.text, m.why if key == "why" else m.replacement) for m in KNOWN)
        assert [row for row, times in seen.items() if times > 1] == []


def test_counts_add_up() -> None:
    counts = Counter({("a", "noticed"): 3, ("a", "survived"): 1, ("b", "argued"): 2})
    assert table(counts).splitlines()[2:] == [
        "| a | 4 | 3 | 1 | 0 |", "| b | 2 | 0 | 0 | 2 |", "| all | 6 | 3 | 1 | 2 |",
    ]  # fmt: skip


def test_what_was_not_tried_is_told() -> None:
    counts = Counter({("a", "noticed"): 3, ("a", "not tried"): 2})
    assert table(counts).splitlines()[2:] == [
        "| a | 3 | 3 | 0 | 0 | 2 |",
        "| all | 3 | 3 | 0 | 0 | 2 |",
    ]


def test_a_pass_goes_on_only_with_the_same_error_and_sources(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = tmp_path / "results.jsonl"
    task = Task(("tests/a.py",), interpreted=False, mutation=KNOWN[0])
    Kept(file).add(task, Result(1, 2.5, ""))
    assert Kept(file).of(task) == Result(1, 2.5, "")
    other = replace(KNOWN[0], replacement="another")
    assert Kept(file).of(replace(task, mutation=other)) is None
    assert Kept(file).of(replace(task, tests=("tests/b.py",))) is None
    monkeypatch.setattr(jobs, "digest", lambda: "other sources")
    assert Kept(file).of(task) is None


@pytest.mark.slow
def test_the_tool_tells_what_is_noticed_from_what_is_not() -> None:
    # two errors on purpose: the second changes nothing, as the reason beside it says
    command = [sys.executable, "-m", "tests.mutate", "--only", "absorbed sun", "class II open"]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    words = [line.split()[0] for line in done.stdout.splitlines() if line]
    assert [word for word in words if word != "no"][:2] == ["argued", "noticed"]
    assert "| all | 2 | 1 | 0 | 1 |" in done.stdout
