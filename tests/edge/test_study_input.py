"""What is wrong with a study is said once, clearly, before anything runs; nothing is lost."""

from __future__ import annotations

import os
import sqlite3
import sys
from collections import deque
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from study_cases import write_study
from typer.testing import CliRunner, Result

import hygro
from hygro.case import CaseError, load
from hygro.cli import app
from hygro.decide import store_file
from hygro.decide.rate import failed
from hygro.decide.store import Store, stored_spec
from hygro.decide.study import Study
from hygro.errors import InputError
from hygro.study.varied import LogNormal, Normal, Range, Uniform

STUDY = """
[study.one]
wall = "leaky"
leaks = "all"
vary.rain_leak = ["0 %", "1 %"]
"""


def hygro_says(*arguments: str) -> Result:
    return CliRunner().invoke(app, ["study", *arguments])


@pytest.fixture
def case(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return write_study(tmp_path, STUDY)


@pytest.mark.parametrize(
    ("vary", "words"),
    [
        ({"rain_leek": [0.01]}, "did you mean 'rain_leak'"),
        ({"layers.sheeting.thickness": ["11 mm"]}, "did you mean 'sheathing'"),
        ({"layers.sheathing.thicknes": ["11 mm"]}, "did you mean 'thickness'"),
        ({"layers.sheathing.initail.rh": [0.5]}, "did you mean 'initial'"),
        ({'wall."leeky".azimuth': [0]}, "did you mean 'leaky'"),
        ({"room.home.rhh": [0.3]}, "did you mean 'rh'"),
        ({"factor.sheathing.vapor": [1.0]}, "did you mean 'vapour'"),
        ({"factor.sheeting.vapour": [1.0]}, "did you mean 'sheathing'"),
        ({"settings.tolerence": [1.0]}, "did you mean 'tolerance'"),
        ({"climate.anual_rain": [900]}, "did you mean 'annual_rain'"),
        ({"rain_leak": [2]}, r'must be 0 to 1; is it in percent\? write "2 %"'),
        ({"rain_leak": Range("0 %", "120 %", 5)}, "120.*must be 0 to 1"),
        ({"layers.sheathing.thickness": Range("5 mm", "2000 mm", 3)}, "at most 1.5 m"),
        ({"rain_leak": Range("3 %", "1 %", 5)}, "need low < high"),
        ({"winter_rh": [0]}, "winter_rh: 0: must be 0.01 to 0.99"),
        ({"year": [3]}, "year = 3: must be 1 to 1, the years of the weather"),
        ({"climate": ["other.epw"]}, "no such file"),
        ({"rain_leak": Uniform("0 %", "130 %")}, 'leaves its bounds: "130 %": must be 0 to 100 %;'),
        (
            {"rain_leak": Normal("1 %", "1 %")},  # 1 % less six deviations of 1 %
            r'leaves its bounds: it goes on to "-5 %": must be 0 to 100 %; say truncate = \[low, ',
        ),
        ({"cavity_R": Normal("R-10", "R-8")}, '"-38 R": must be 0 to 567.8 R; say truncate'),
        ({"winter_rh": Normal(0.45, 0.2)}, "it goes on to -0.75: must be 0.01 to 0.99; say"),
        ({"gap_air_change": LogNormal(1e4, 3.0)}, "leaves its bounds.*truncate"),
        ({"rain_leak": Normal("1 %", "1 %", ("3 %", "1 %"))}, "two rising values"),
        ({"rain_leak": Normal("1 %", "0 %")}, "deviation = 0: must be above 0"),
        ({"rain_leak": ["1 %", "5 perm"]}, "rain_leak"),
        ({}, "nothing varies"),
        ({"rain_leak": []}, "must have 1 to"),
        ({"rain_leak": [True]}, "must be a number or a text with a unit"),
    ],
)
def test_what_cannot_vary_is_refused_before_anything_runs(
    case: Path, vary: dict[str, Any], words: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("hygro.study.stages.march_many", None)  # nothing may run
    with pytest.raises(InputError, match=words) as error:
        _ = Study(case, wall="leaky", vary=vary).plan.runs
    assert len(str(error.value)) < 300


def test_a_distribution_within_its_bounds_needs_no_truncation(case: Path) -> None:
    study = Study(case, wall="leaky", vary={"rain_leak": Normal("1 %", "0.1 %")}, samples=8)
    assert len(study.plan.points) == 8


def test_an_unknown_study_is_answered_with_near_matches(case: Path) -> None:
    answer = hygro_says("plan", str(case), "ome")
    assert answer.exit_code == 2
    assert "no study 'ome'; did you mean 'one'?" in answer.stderr


def test_what_cannot_vary_is_told_with_file_and_table(tmp_path: Path) -> None:
    text = '\n[study.thick]\nwall = "leaky"\nvary."layers.sheething.thickness" = ["11 mm"]\n'
    path = write_study(tmp_path, text)
    answer = hygro_says("plan", str(path), "thick")
    assert answer.exit_code == 2
    words = "study.thick: path 'layers.sheething.thickness': nothing is called 'sheething'"
    assert f"error: {path}: {words}" in answer.stderr.replace("\n", " ")


def test_a_file_is_named_once_in_what_is_wrong(tmp_path: Path) -> None:
    text = '\n[study.lost]\nwall = "nope"\nvary.winter_rh = ["30 %"]\n'
    path = write_study(tmp_path, text)
    told = hygro_says("plan", str(path), "lost").stderr.replace("\n", " ")
    assert told == f"error: {path}: study.lost: no wall 'nope'; known: leaky, plain "


def test_a_study_that_varies_nothing_is_refused_with_its_key(tmp_path: Path) -> None:
    path = write_study(tmp_path, "\n[study.empty]\nvary = {}\n")
    with pytest.raises(CaseError, match=r"study\.empty\.vary.*at least 1"):
        load(path)


def test_a_case_of_more_walls_wants_to_know_which(case: Path) -> None:
    with pytest.raises(InputError, match=r'2 walls: say which .*, one of "plain", "leaky"'):
        Study(case, vary={"rain_leak": [0.01]})


def test_the_store_of_another_case_is_refused_and_kept(case: Path, tmp_path: Path) -> None:
    first = Study(case, wall="leaky", vary={"rain_leak": [0.01]}, store="x.study")
    first.store.put(failed("a" * 64, "kept"))
    first.close()
    (tmp_path / "other").mkdir()
    other = write_study(tmp_path / "other", "", ('name = "small"', 'name = "another house"'))
    with pytest.raises(InputError, match="belongs to another case, 'small' and not 'another"):
        _ = Study(other, wall="leaky", vary={"rain_leak": [0.01]}, store="x.study").store
    with Store(Path("x.study")) as store:
        assert store.finished(["a" * 64]) == {"a" * 64}


def test_asking_for_a_store_that_there_is_not_makes_none(case: Path, tmp_path: Path) -> None:
    lost = tmp_path / "mistyped.study"
    for store, words in (("one.study", ()), (str(lost), ("--store", str(lost)))):
        for asked in (("status",), ("export", str(tmp_path / "x.nc")), ("resume",)):
            got = hygro_says(asked[0], str(case), "one", *asked[1:], *words)
            assert got.exit_code == 2
            assert f"{store}: no such store" in got.stderr.replace("\n", " ")
        plan = hygro_says("plan", str(case), "one", *words)
        assert "2 of them differ, 0 finished" in plan.stdout
    assert not list(tmp_path.glob("*.study*"))


def test_a_plan_changes_nothing_in_a_store_that_is_there(case: Path) -> None:
    study = Study(case, wall="leaky", vary={"rain_leak": [0.01]}, store="one.study", name="one")
    before = study.store.spec("one")
    study.close()
    assert "0 finished" in hygro_says("plan", str(case), "one").stdout
    with Store(Path("one.study")) as store:
        assert store.spec("one") == before


def test_a_file_that_is_no_store_is_refused_and_kept(case: Path) -> None:
    Path("x.study").write_text("my notes, not a store, and long enough " * 40)
    with pytest.raises(InputError, match="is not a store of studies"):
        Store(Path("x.study"))
    assert Path("x.study").read_text().startswith("my notes")


def of_another_program(*tables: str) -> bytes:
    """Make `own.db` with some tables, and return what is in it."""
    with closing(sqlite3.connect("own.db")) as base:
        for table in tables:
            base.execute(f"CREATE TABLE {table} (mine TEXT)")
            base.execute(f"INSERT INTO {table} VALUES ('what I wrote')")
        base.commit()
    return Path("own.db").read_bytes()


@pytest.mark.parametrize("read_only", [False, True])
@pytest.mark.parametrize("tables", [("notes",), ("about", "run", "claim")])
def test_an_sqlite_file_of_another_program_is_refused_and_kept(
    tables: tuple[str, ...], read_only: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    before = of_another_program(*tables)
    with pytest.raises(InputError, match=r"own\.db: is an SQLite file, but no store of studies"):
        Store(Path("own.db"), read_only=read_only)
    assert Path("own.db").read_bytes() == before
    assert [path.name for path in tmp_path.iterdir()] == ["own.db"]


@pytest.mark.parametrize(
    "command",
    [
        ("map", "CASE", "--x", "rain_leak, 0 %, 1 %", "--y", "winter_rh, 30 %, 60 %"),
        ("limit", "CASE", "room.home.rh", "--low", "0.3", "--high", "0.5"),
        ("sample", "CASE"),
        ("study", "run", "CASE", "one"),
    ],
)
def test_no_command_writes_to_a_file_of_another_program(
    command: tuple[str, ...], case: Path
) -> None:
    before = of_another_program("notes")
    typed = [str(case) if word == "CASE" else word for word in command]
    wall = [] if "study" in command else ["--wall", "leaky"]
    answer = CliRunner().invoke(app, [*typed, *wall, "--store", "own.db"])
    assert answer.exit_code == 2, answer.output
    assert "own.db: is an SQLite file, but no store of studies" in answer.stderr
    assert Path("own.db").read_bytes() == before


def test_an_empty_file_becomes_a_store(case: Path) -> None:
    Path("x.study").touch()
    with closing(sqlite3.connect("y.study")) as base:  # a file with a head and no table
        base.execute("PRAGMA user_version = 1")
    for name in ("x.study", "y.study"):
        assert stored_spec(Path(name), "one") == {}
        Store(Path(name)).close()
        with Store(Path(name), read_only=True) as store:
            assert store.studies() == []


def test_a_store_from_before_findings_were_kept_is_read_and_goes_on(case: Path) -> None:
    with Store(Path("x.study")) as store:
        store._base.execute("DROP TABLE finding")
    with Store(Path("x.study"), read_only=True) as store:
        assert store.findings() == []
    with Store(Path("x.study")) as store:
        store.put_finding("one", "map", "{}")


def test_a_store_of_another_version_is_refused_and_kept(case: Path) -> None:
    with Store(Path("x.study")) as store:
        store._base.execute("UPDATE about SET value = 'hygro-study-99'")
        store._base.execute("DROP TABLE finding")
    before = Path("x.study").read_bytes()
    with pytest.raises(InputError, match="another version"):
        Store(Path("x.study"))
    assert Path("x.study").read_bytes() == before


@pytest.mark.parametrize("read_only", [False, True])
def test_a_store_without_a_version_is_refused(read_only: bool, tmp_path: Path) -> None:
    file = tmp_path / "old.study"
    Store(file).close()
    base = sqlite3.connect(file)
    base.execute("DELETE FROM about")
    base.commit()
    base.close()
    with pytest.raises(InputError, match=r"another version \(none"):
        Store(file, read_only=read_only)


@pytest.mark.parametrize(
    "foreign",
    ["CREATE VIEW v AS SELECT 1", "CREATE TRIGGER t AFTER DELETE ON claim BEGIN SELECT 1; END"],
)
def test_a_store_with_statements_of_its_own_is_refused(case: Path, foreign: str) -> None:
    with Store(Path("x.study")) as store:
        store._base.execute(foreign)
    with pytest.raises(InputError, match=r"holds the (view 'v'|trigger 't'), which no store has"):
        Store(Path("x.study"))


@pytest.mark.parametrize("column", ["numbers", "margin", "outcome", "digests", "seal"])
def test_a_result_that_was_changed_is_told_and_made_again(case: Path, column: str) -> None:
    study = Study(case, wall="leaky", vary={"rain_leak": [0.01]}, leaks="none", store="x.study")
    study.run(processes=1)
    (sha,) = study.plan.distinct
    before = study.rows[sha]
    study.store._base.execute(f"UPDATE result SET {column} = {column} || '1'")
    with pytest.raises(InputError, match=f"run {sha[:10]} is damaged or was changed; 'hygro study"):
        study.store.rows([sha])
    told = []
    study.run(processes=1, progress=told.append)
    assert (told[-1].damaged, told[-1].made) == (1, 1)
    after = study.rows[sha]
    assert (after.numbers, after.margin, after.digests) == (
        before.numbers, before.margin, before.digests,
    )  # fmt: skip


@pytest.mark.parametrize("owner", ["", "nobody", "a:b:c", "host:99999999999999999999:x"])
def test_a_claim_that_nobody_can_hold_is_free(case: Path, owner: str) -> None:
    with Store(Path("x.study")) as store:
        store._base.execute("INSERT INTO claim VALUES ('a', ?, 'never')", (owner,))
        assert store.claim(["a"]) == ["a"]


@pytest.mark.parametrize(
    ("store", "words"),
    [
        ("nowhere/x.study", "nowhere/x.study: there is no folder nowhere; make it"),
        (".", ".: is a folder; a store is a file"),
        pytest.param(
            "/proc/x",
            "/proc/x: no file can be made in /proc; may you write there?",
            marks=pytest.mark.skipif(not Path("/proc").is_dir(), reason="looks into /proc"),
        ),
        (os.devnull, f"{os.devnull}: is no file, and a store is one"),
    ],
)
def test_a_place_where_no_store_can_be_is_said_with_its_cause(
    case: Path, store: str, words: str
) -> None:
    answer = hygro_says("run", str(case), "one", "--store", store)
    assert answer.exit_code == 2
    assert words in " ".join(answer.stderr.split())


def test_a_misspelt_key_is_one_fault(case: Path) -> None:
    text = case.read_text("utf-8")
    how = '{ kind = "triangular", low = "0 %", mode = "1 %", hihg = "2 %" }'
    case.write_text(f'{text}\n[study.bad]\nwall = "leaky"\nvary.rain_leak = {how}\n', "utf-8")
    (line,) = hygro_says("plan", str(case), "bad").stderr.splitlines()
    assert line.endswith("vary.rain_leak.hihg: unknown key; did you mean 'high'?")


def test_a_key_that_is_missing_is_told_beside_one_that_is_unlike_it(case: Path) -> None:
    text = case.read_text("utf-8")
    how = '{ kind = "triangular", low = "0 %", mode = "1 %", steps = 4 }'
    case.write_text(f'{text}\n[study.bad]\nwall = "leaky"\nvary.rain_leak = {how}\n', "utf-8")
    told = hygro_says("plan", str(case), "bad").stderr
    assert "high: missing" in told
    assert "steps: unknown key" in told


def test_a_locked_store_is_said_after_some_patience(
    case: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    Store(Path("x.study")).close()
    holder = sqlite3.connect("x.study", isolation_level=None)
    holder.execute("BEGIN IMMEDIATE")
    monkeypatch.setattr(store_file, "PATIENCE", 0.2)
    with pytest.raises(InputError, match=r"locked by another program.*goes on"):
        Store(Path("x.study"))
    holder.execute("ROLLBACK")
    Store(Path("x.study")).close()  # nothing is broken by it


def test_a_full_disk_loses_nothing_that_was_finished(case: Path) -> None:
    with Store(Path("x.study")) as store:
        store.put(failed("a" * 64, "first"))
        (pages,) = store._base.execute("PRAGMA page_count").fetchone()
        store._base.execute(f"PRAGMA max_page_count = {pages}")
        rows = (failed(f"{k:064d}", "long words " * 100) for k in range(200))
        with pytest.raises(InputError, match=r"disk is full.*finished runs are kept"):
            deque(map(store.put, rows))
    with Store(Path("x.study")) as again:
        assert again.finished(["a" * 64]) == {"a" * 64}
        (sound,) = again._base.execute("PRAGMA integrity_check").fetchone()
        assert sound == "ok"


def test_a_wall_alone_needs_climate_and_room(case: Path) -> None:
    wall = load(case).wall("leaky").wall
    with pytest.raises(InputError, match="needs a climate and a room"):
        hygro.Study(wall, vary={"rain_leak": [0.01]})
    with pytest.raises(InputError, match="give none beside it"):
        hygro.Study(
            case, room=hygro.get_room("en15026_high"), wall="leaky", vary={"rain_leak": [0]}
        )


def test_records_are_kept_beside_a_store_only(case: Path) -> None:
    study = Study(case, wall="leaky", vary={"rain_leak": [0.01]}, keep=True)
    with pytest.raises(InputError, match="beside a store"):
        study.run()


def test_results_go_to_netcdf_or_zarr(case: Path) -> None:
    Store(Path("one.study")).close()
    answer = hygro_says("export", str(case), "one", "results.csv")
    assert answer.exit_code == 2
    assert "go to a file .nc or a folder .zarr" in answer.stderr


def test_what_zarr_needs_is_told_with_how_to_install_it(
    case: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    Store(Path("one.study")).close()
    monkeypatch.setitem(sys.modules, "zarr", None)
    answer = hygro_says("export", str(case), "one", "results.zarr")
    assert answer.exit_code == 2
    assert "Zarr needs the package zarr: pip install zarr;" in answer.stderr.replace("\n", " ")
    assert not Path("results.zarr").exists()
