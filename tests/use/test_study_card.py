"""Studies on a graphics card: the rows of the processor, kept apart from them.

What needs a card is marked `gpu`; the processor stands in for one elsewhere, whose rows have the
numbers of lanes to the bit.
"""

from __future__ import annotations

import json
import sqlite3
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from card_stand_in import StandIn
from study_cases import STUDY, typed, write_study
from typer.testing import CliRunner

from hygro.case import load
from hygro.cli import app
from hygro.decide import on_card, raters
from hygro.decide.rate import Row, failed
from hygro.decide.runner import run_plan
from hygro.decide.study import Study, study_of
from hygro.errors import InputError
from hygro.solve.card import device
from hygro.solve.card.arena import Arena, Shapes

RANGE = {"vary": {"rain_leak": ["1 %", "3 %"]}, "wall": "leaky"}


@pytest.fixture
def case(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return write_study(tmp_path, STUDY)


@pytest.fixture
def stand_in(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(device, "cards", lambda: [StandIn()])
    monkeypatch.setattr(device, "compiler_name", lambda: "none")


def card_answers() -> None:
    try:
        device.Card()
    except InputError as missing:
        pytest.skip(str(missing))


def rows_of(case: Path, device_: str, processes: int = 1, **more: Any) -> tuple[Study, list[Row]]:
    """Rows in the order of the plan, from one store for both devices."""
    store = case.parent / "both.study"
    study = Study(case, **(RANGE | more), store=store, device=device_, name=device_)
    study.run(processes=processes)
    return study, [study.rows[run.sha256] for run in study.plan.runs]


def assert_same_verdicts(ours: list[Row], theirs: list[Row]) -> None:
    assert len(ours) == len(theirs) > 1
    for a, b in zip(ours, theirs, strict=True):
        assert a.state == b.state == "done"
        assert (a.outcome, a.passed, a.decides) == (b.outcome, b.passed, b.decides)
        assert a.criteria.keys() == b.criteria.keys()
        assert a.digests["loads_sha256"] == b.digests["loads_sha256"]


@pytest.mark.slow
@pytest.mark.usefixtures("stand_in")
@pytest.mark.parametrize("processes", [1, 2])
@pytest.mark.parametrize("repeat", ["once", "as needed"])
def test_rows_of_a_card_are_those_of_the_processor(case: Path, repeat: str, processes: int) -> None:
    """To the bit where the processor stands in, whoever rates; the store holds both."""
    text = case.read_text("utf-8").replace('repeat = "once"', f'repeat = "{repeat}"')
    case.write_text(text, encoding="utf-8")
    (ours, found), (theirs, other) = rows_of(case, "gpu", processes), rows_of(case, "cpu")
    assert_same_verdicts(found, other)
    assert not set(ours.rows) & set(theirs.rows)
    for a, b in zip(found, other, strict=True):
        assert (a.numbers, a.criteria, a.digests) == (b.numbers, b.criteria, b.digests)
        assert (a.margin, a.reason) == (b.margin, b.reason)
        # a ledger is summed in another order: closures are round-off
        counts = {k: v for k, v in b.quality.items() if not k.startswith("closure")}
        assert {k: a.quality[k] for k in counts} == counts


@pytest.mark.slow
@pytest.mark.usefixtures("stand_in")
def test_walls_march_in_turn_where_memory_holds_few_of_them(
    case: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Few at a time: whoever marches waits until those before were read, and all are rated."""
    sizes = list[int]()

    class Small(Arena):
        def __init__(self, size: int) -> None:
            super().__init__(min(size, 25_000_000))

        def room(self, shapes: Shapes) -> dict[str, np.ndarray]:
            sizes.append(shapes["T"][0])
            return super().room(shapes)

    monkeypatch.setattr(raters, "Arena", Small)
    more = {"vary": {"winter_rh": [0.3, 0.35, 0.4, 0.45, 0.5, 0.55]}}
    (_, found), (_, other) = rows_of(case, "gpu", 2, **more), rows_of(case, "cpu", **more)
    assert_same_verdicts(found, other)
    assert [row.numbers for row in found] == [row.numbers for row in other]
    assert len(sizes) > 2
    assert sum(sizes) == len(found)


@pytest.mark.gpu
@pytest.mark.parametrize("repeat", ["once", "as needed"])
def test_verdicts_of_a_card_are_those_of_the_processor(case: Path, repeat: str) -> None:
    card_answers()
    text = case.read_text("utf-8").replace('repeat = "once"', f'repeat = "{repeat}"')
    case.write_text(text, encoding="utf-8")
    (_, found), (_, other) = rows_of(case, "gpu"), rows_of(case, "cpu")
    assert_same_verdicts(found, other)
    for a, b in zip(found, other, strict=True):
        assert a.margin == pytest.approx(b.margin, rel=1e-6, abs=1e-9)
        numbers = {k: v for k, v in b.numbers.items() if isinstance(v, float)}
        assert {k: a.numbers[k] for k in numbers} == pytest.approx(numbers, rel=1e-6, abs=1e-9)
        assert max(a.quality["closure_energy"], a.quality["closure_moisture"]) < 1e-8


@pytest.mark.slow
@pytest.mark.usefixtures("stand_in")
def test_a_wall_that_cannot_go_on_is_a_row_with_its_reason(case: Path) -> None:
    """A step of an hour at least cannot follow the weather; the reason is that of the processor."""
    stiff = {"vary": {"settings.min_step": [1e-3, 3599.0]}, "leaks": "none"}
    (_, found), (_, other) = rows_of(case, "gpu", 2, **stiff), rows_of(case, "cpu", **stiff)
    assert [row.state for row in found] == ["done", "failed"]
    assert found[1].error == other[1].error
    assert "the march stopped at" in found[1].error
    assert found[0].numbers == other[0].numbers


@pytest.mark.usefixtures("stand_in")
def test_results_of_a_card_are_known_by_another_hash(case: Path) -> None:
    """What compiled for the card is part of it; the processor's hashes stay what they were."""
    hashes = [tuple(Study(case, **RANGE, device=x).plan.distinct) for x in ("cpu", "gpu")]
    device.compiler_name = lambda: "another"
    other = tuple(Study(case, **RANGE, device="gpu").plan.distinct)
    assert len({*hashes[0], *hashes[1], *other}) == 9


@pytest.mark.usefixtures("stand_in")
def test_a_study_goes_on_with_the_device_that_its_store_has(case: Path) -> None:
    study_of(load(case), "one", store=Path("one.study"), device="gpu").store.close()
    with sqlite3.connect("one.study") as base:
        (told,) = base.execute("SELECT spec FROM study").fetchone()
    assert json.loads(told)["device"] == "gpu"
    on_gpu = hashes(None)
    assert hashes("cpu") != on_gpu
    assert hashes("gpu") == on_gpu == hashes(None)


def test_without_the_package_every_command_says_what_to_install(
    case: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Before anything runs, and no store is made."""
    device.compiler.cache_clear()
    monkeypatch.setitem(sys.modules, "numba_cuda", None)
    path = 'wall."leaky".leaks.rain.fraction'
    asked = (
        ["limit", str(case), path, "--low", "1 %", "--high", "2 %"],
        ["map", str(case), "--x", "winter_rh, 30 %, 40 %", "--y", "rain_leak, 1 %, 2 %",
         "--wall", "leaky"],
        ["sample", str(case), "--wall", "leaky"],
        ["study", "run", str(case), "one"],
    )  # fmt: skip
    try:
        for words in asked:
            answer = CliRunner().invoke(app, [*words, "--device", "gpu"])
            assert answer.exit_code == 2
            assert 'pip install "hygro[gpu]"' in answer.stderr.replace("\n", " ")
    finally:
        device.compiler.cache_clear()
    assert not list(case.parent.rglob("*.study"))


@pytest.mark.usefixtures("stand_in")
@pytest.mark.parametrize("processes", ["1", "2"])
def test_without_a_card_the_command_says_what_it_needs(
    case: Path, monkeypatch: pytest.MonkeyPatch, processes: str
) -> None:
    """Whoever rates; and no row says that a run failed."""

    def none_answers() -> None:
        raise InputError("device = 'gpu': no NVIDIA card answers")

    monkeypatch.setattr(device, "cards", none_answers)
    words = ["run", str(case), "one", "--device", "gpu", "--processes", processes]
    answer = typed(*words)
    assert answer.exit_code == 2
    assert "no NVIDIA card answers" in answer.stderr
    told = json.loads(typed("status", str(case), "one", "--json").stdout)
    assert (told["done"], told["failed"], told["left"]) == (0, 0, 8)


@pytest.mark.usefixtures("stand_in")
def test_a_cluster_and_a_card_exclude_each_other(case: Path) -> None:
    study = Study(case, **RANGE, device="gpu")
    with pytest.raises(InputError, match="a cluster marches on processors"):
        run_plan(study.plan, study.store, pool=lambda *_: 1 / 0)


def test_an_unknown_device_is_refused(case: Path) -> None:
    with pytest.raises(InputError, match="device = 'tpu': must be one of: cpu, gpu"):
        Study(case, **RANGE, device="tpu")


def test_claims_are_renewed_while_a_card_works(monkeypatch: pytest.MonkeyPatch) -> None:
    """Rows come as they end, in their order; whoever waits is called in between, in its thread."""
    monkeypatch.setattr(on_card, "PATIENCE", 0.01)
    ticks, here = [], threading.get_ident()

    def rows() -> Iterator[Row]:
        for name in ("a", "b"):
            time.sleep(0.2)
            yield failed(name, "no wall")

    stop, tick = threading.Event(), lambda: ticks.append(threading.get_ident())
    found = on_card._heard(rows, tick, stop)
    assert [row.sha256 for some in found for row in some] == ["a", "b"]
    assert len(ticks) > 4
    assert set(ticks) == {here}


def hashes(name: str | None) -> list[str]:
    words = [] if name is None else ["--device", name]
    told = json.loads(typed("plan", "case.toml", "one", "--json", *words).stdout)
    return [run["sha256"] for run in told["list"]]
