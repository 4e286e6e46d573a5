"""A small part of `python -m tests.fuzz` in every run, and whether its checks notice anything."""

from __future__ import annotations

import json
import os
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from feature_walls import features

from hygro.record import simulate_loads
from hygro.solve.march import run
from tests.fuzz import files, kills
from tests.fuzz.__main__ import KEPT, PAGE, main, on_page
from tests.fuzz.counts import counted
from tests.fuzz.mutate_toml import toml
from tests.fuzz.subjects import SUBJECTS, make_all
from tests.fuzz.walls import record_faults, same, stop_faults, tried

SEED = 2026
WALLS, FILES = 16, 20


@pytest.mark.parametrize("first", range(0, WALLS, 4))
def test_random_walls_keep_what_must_hold(first: int) -> None:
    for number in range(first, first + 4):
        told = tried(SEED, number)
        assert told["faults"] == [], number
        assert told["stopped"] == "", number


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("sound")
    make_all(folder)
    return folder


@pytest.mark.parametrize("kind", SUBJECTS)
def test_damaged_files_are_read_or_give_one_clear_error(
    kind: str, sound: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "100000")
    told = [files.tried(SEED, kind, number, sound) for number in range(FILES)]
    assert [x for x in told if x["faults"]] == []
    assert {x["code"] for x in told} == {0, 2}  # some are read, some refused


@pytest.mark.parametrize("kind", SUBJECTS)
def test_the_sound_files_are_read(kind: str, sound: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Else nothing would be shown by a damaged one that is refused."""
    monkeypatch.setattr(files, "_damage", lambda *_: "not at all")
    left = {subject.name for subject in SUBJECTS[kind]}
    for k in range(40):
        if left:
            told = files.tried(SEED, kind, k, sound)
            assert (told["code"], told["faults"]) == (0, []), told
            left.discard(told["what"].split(",")[0])
    assert not left, "some file did not come up"


@pytest.mark.skipif(not hasattr(os, "fork"), reason="processes are forks")
@pytest.mark.parametrize("what", sorted({w for ways in kills.WAYS.values() for w in ways}, key=str))
def test_what_ends_in_the_middle_goes_on(what: kills.Way, tmp_path: Path) -> None:
    from tests.fuzz.draw import Draw

    assert what(Draw(SEED, what.__name__, 0), tmp_path) == []


def test_one_seed_gives_one_wall() -> None:
    one, other = (tried(SEED, 1, hours=48) for _ in range(2))
    assert {**one, "seconds": 0.0} == {**other, "seconds": 0.0}


def test_what_does_not_hold_of_a_record_is_noticed() -> None:
    record = simulate_loads(*features()["ice and condensate"])
    assert record_faults(record) == []
    wrong = record.copy(deep=True)
    wrong["ice_content"].values[3, 2] = wrong["water_content"].values[3, 2] + 1e-9
    wrong["relative_humidity"].values[4, 1] = 1.0 + 1e-9
    wrong["temperature"].values[5, 0] = np.nan
    wrong.attrs["closure_moisture"] = 1e-8
    told = " ".join(record_faults(wrong))
    assert "ice exceeds water" in told
    assert "above 1" in told
    assert "'temperature' is not finite" in told
    assert "closure_moisture" in told


def test_one_bit_in_company_is_noticed() -> None:
    alone = run(*features()["rain leak"])
    water = alone.w.copy()
    water[7, 3] = np.nextafter(water[7, 3], 1e9)
    assert same(alone, alone)
    assert not same(alone, replace(alone, w=water))


@pytest.mark.parametrize(
    ("text", "faulty"),
    [
        ("state 12.30 °C, potential 0.51", False),
        ("state -509.00 °C, potential 0.51", True),
        ("state 900 K", True),
        ("at 120 % rh", True),
        ("last change nan tolerances", True),
    ],
)
def test_a_state_that_no_wall_has_is_noticed_in_a_message(text: str, faulty: bool) -> None:
    assert bool(stop_faults(text)) is faulty


class Answer:
    """What a command answered."""

    def __init__(self, code: int, stderr: str, stdout: str = "") -> None:
        self.exit_code, self.stderr, self.stdout = code, stderr, stdout
        self.output, self.exception = stdout + stderr, None


@pytest.mark.parametrize(
    ("answer", "words"),
    [
        (Answer(2, "error: x: missing\n"), None),
        (Answer(70, "internal fault: KeyError\n"), "exit code 70"),
        (Answer(2, ""), "without a word"),
        (Answer(1, "Traceback (most recent call last)\n"), "a traceback"),
        (Answer(2, "error: " + "x" * 301), "a line of 308 characters"),
        (Answer(2, "something went wrong\n"), "a line that is no error"),
        (Answer(0, "/a/b.py:12: RuntimeWarning: divide\n"), "a warning of a library"),
        (Answer(2, "error: memory ran out\n"), "memory ran out"),
    ],
)
def test_a_bad_answer_is_noticed(answer: Answer, words: str | None) -> None:
    told = " ".join(files.answer_faults(answer))
    assert told == "" if words is None else words in told


def outcomes(**wall: object) -> dict[str, object]:
    """Counts of 4000 walls, one of which is told."""
    usual = {"kind": "wall", "faults": [], "seconds": 1.0, "evaluations": 4.0}
    told = [{**usual, "number": k} for k in range(3999)]
    return counted([*told, {**usual, "number": 3999, **wall}], {"seed": 1})


def test_what_is_accepted() -> None:
    assert outcomes()["accepted"]
    assert outcomes(stopped="the march stopped")["accepted"]  # 1 of 4000
    assert outcomes(seconds=20.0)["accepted"]
    assert not outcomes(seconds=20.1)["accepted"]
    assert not outcomes(faults=["a line too long"])["accepted"]
    three = [{"kind": "wall", "number": k, "faults": [], "stopped": "x"} for k in range(3)]
    more = [{"kind": "wall", "number": k, "faults": [], "seconds": 1.0} for k in range(3, 4000)]
    assert not counted([*three, *more], {})["accepted"]  # 3 of 4000, 2 may


def test_tables_are_written_as_they_are_read() -> None:
    import tomllib

    data = {"a b": [1, 2.5, True, "é\n", {}], "c": {"d": {"e": -1e308}}}
    assert tomllib.loads(toml(data)) == data


def test_a_run_goes_on_where_it_was_stopped(tmp_path: Path, capsys: pytest.CaptureFixture) -> None:
    out = str(tmp_path / "counts.json")
    none = ["--walls", "0", "--files", "0", "--kills", "0", "--pairs", "0", "--signals", "0"]
    assert main([*none, "--out", out]) == 0
    lines = tmp_path / "counts.lines"
    told = {"kind": "case", "number": 0, "faults": [], "code": 0, "seconds": 0.1}
    with lines.open("a") as file:
        file.write(json.dumps(told) + "\n" + '{"kind": "case", "numb')  # killed in the middle
    assert main(["--walls", "0", "--files", "2", *none[4:], "--out", out]) == 0
    assert json.loads(Path(out).read_text())["kinds"]["case"]["tried"] == 1
    lines.write_text(json.dumps({"seed": 3}) + "\n")
    assert main([*none, "--out", out]) == 2
    assert "of another seed or version" in capsys.readouterr().err


def test_the_page_tells_the_counts_of_the_last_run() -> None:
    found = json.loads(KEPT.read_text(encoding="utf-8"))
    assert on_page(found) in PAGE.read_text(encoding="utf-8")
