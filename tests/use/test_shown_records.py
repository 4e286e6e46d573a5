"""`hygro show`: a record is judged by the criteria of its own case, and says what it is."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from case_files import write_case
from typer.testing import CliRunner, Result

from hygro.cli import app
from hygro.record import load, save

OWN = (
    "[settings]",
    "[criteria]\nskip_days = 30\n[criteria.change.mc_30d]\nlimit = 0.15\nhard = false\n"
    '[settings]\nrepeat = "once"',
)
CLADDING = ('name = "leaky"\n', 'name = "leaky"\nsheathing = "cladding"\n')


def hygro(*arguments: str) -> Result:
    return CliRunner().invoke(app, list(arguments))


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("case")
    wood = ('material = "fibre-cement"', 'material = "softwood"')
    case = str(write_case(folder, OWN, CLADDING, wood))
    result = hygro("compare", case, "--out", str(folder / "out"), "--processes", "1")
    assert result.exit_code == 0, result.output
    return folder / "out"


@pytest.mark.parametrize("name", ["plain", "leaky", "leaky-rain"])
def test_a_record_is_judged_as_its_case_judged_it(folder: Path, name: str) -> None:
    told = json.loads((folder / "comparison.json").read_text(encoding="utf-8"))
    runs = {run["file"]: run["verdict"] for wall in told for run in wall["runs"]}
    again = json.loads(hygro("show", str(folder / f"{name}.nc"), "--json").stdout)
    assert again["verdict"] == runs[f"{name}.nc"]
    row = next(f for f in again["verdict"]["findings"] if f["criterion"] == "mc_30d")
    assert (row["limit"], row["hard"]) == (0.15, False)
    assert again["verdict"]["skip_days"] == 30


def test_a_cladding_outside_the_gap_is_judged_as_sheathing(folder: Path) -> None:
    shown = hygro("show", str(folder / "leaky-rain.nc")).stdout
    assert "sheathing 'cladding'" in shown
    told = json.loads((folder / "comparison.json").read_text(encoding="utf-8"))
    hand = next(wall for wall in told if wall["wall"] == "leaky")["runs"][0]["hand"]
    # outside a well-ventilated gap nothing insulates (ISO 6946): outdoor air on both sides
    assert hand["outboard_share"] == 0.0
    assert hand["face_temperature"] == hand["winter_outdoor"]
    assert any("outdoor temperature" in note for note in hand["notes"])


def test_a_record_says_wall_leaks_case_room_and_cautions(folder: Path) -> None:
    text = " ".join(hygro("show", str(folder / "leaky-rain.nc")).stdout.split())
    for words in (
        "leaky, with its rain leaks alone", "case: small", "room: home",
        "criteria: of the stored case",
        "average year", "no proof of compliance",
    ):  # fmt: skip
        assert words in text
    tight = " ".join(hygro("show", str(folder / "plain.nc")).stdout.split())
    assert "plain, without leaks" in tight
    assert "nothing here says that the wall stays dry" in tight


def test_a_record_without_a_case_is_judged_by_the_default_and_says_so(
    folder: Path, tmp_path: Path
) -> None:
    ds = load(folder / "plain.nc")
    del ds.attrs["case_text"]
    save(ds, tmp_path / "bare.nc")
    shown = json.loads(hygro("show", str(tmp_path / "bare.nc"), "--json").stdout)
    assert "no case stored" in shown["criteria"]
    assert shown["verdict"]["skip_days"] == 0


def test_a_stored_case_that_is_none_is_refused(folder: Path, tmp_path: Path) -> None:
    ds = load(folder / "plain.nc")
    ds.attrs["case_text"] = "criteria = ["
    save(ds, tmp_path / "bad.nc")
    result = hygro("show", str(tmp_path / "bad.nc"))
    assert result.exit_code == 2
    assert "stored case" in result.stderr


def test_a_record_of_closing_in_says_so_and_where_the_year_in_service_is(tmp_path: Path) -> None:
    out = tmp_path / "x.nc"
    assert (
        hygro("run", str(write_case(tmp_path)), "--wall", "plain", "--out", str(out)).exit_code == 0
    )
    shown = {name: " ".join(hygro("show", str(tmp_path / name)).stdout.split())
             for name in ("x.nc", "x-service.nc")}  # fmt: skip
    assert shown["x.nc"].startswith("plain, without leaks, closing in alone: ")
    assert "holds the closing in alone" in shown["x.nc"]
    assert "is in x-service.nc." in shown["x.nc"]
    assert "holds the year in service alone" in shown["x-service.nc"]
    assert "the closing in is in x.nc." in shown["x-service.nc"]
    (tmp_path / "x-service.nc").unlink()
    alone = " ".join(hygro("show", str(out)).stdout.split())
    assert "would be in x-service.nc, which is not there: run the case with --out" in alone
