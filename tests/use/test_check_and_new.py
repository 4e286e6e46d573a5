"""`hygro check` and `hygro new`: what is told without a run, and cases to start from."""

from __future__ import annotations

import json
import resource
import subprocess
import sys
from pathlib import Path

import pytest
from case_files import write_case
from typer.testing import CliRunner, Result

from hygro.case import families, load
from hygro.cli import app

FOAM = '{ material = "xps", name = "foam", thickness = "100 mm" },\n'
OSB = '  { material = "osb"'
POLY = '{ membrane = "polyethylene-150um", name = "film" },\n  '
PAINT = '{ membrane = "latex-paint"'
GAP = '  { gap = "vented gap", depth = "20 mm", air_change = 100 },\n'
RAIN = 'leaks.rain = { at = "sheathing" }'
BOTH = (RAIN, f'{RAIN}\nleaks.air = {{ at = "sheathing", rate = 1e-5 }}')
WET = 'base = "plain"\nchange.sheathing.initial = { moisture_content = 0.24 }'
MUCH = (OSB, f"  {FOAM}{FOAM.replace('foam', 'more foam')}{OSB}")
BASE = 'base = "plain"'
ONCE = ("[settings]", '[settings]\nrepeat = "once"')
TWO = ("[settings]", "[settings]\nyears = 2\nstart_month = 10")


def hygro(*arguments: str) -> Result:
    return CliRunner().invoke(app, list(arguments))


def told(folder: Path, *changes: tuple[str, str], code: int = 0) -> dict[str, list[str]]:
    """Remarks on the leaky wall and the case, by level."""
    result = hygro("check", str(write_case(folder, *changes)), "--json")
    assert result.exit_code == code, result.output
    found: dict[str, list[str]] = {"wrong": [], "unusual": [], "note": []}
    for remark in json.loads(result.stdout)["remarks"]:
        if remark["place"] in ("leaky", ""):
            found[remark["level"]].append(remark["text"])
    return found


# Each change brings a remark that the case without it does not have.
RULES = [
    (ONCE, "unusual", "one year, run once"),
    (("", ""), "unusual", "coarse run"),
    (("", ""), "unusual", "class III"),
    (("", ""), "unusual", "no air leak"),
    (('leaks.rain = { at = "sheathing" }', ""), "unusual", "no leaks"),
    ((GAP, ""), "unusual", "no air gap outside of 'sheathing'"),
    (("", ""), "note", "average year"),
    (('rh = "45 %"', 'rh = "60 %"'), "unusual", "humid room"),
    (('rh = "45 %"', 'rh = "15 %"'), "unusual", "dry room"),
    # 70 is meant in °F, and as a leak of 1 in percent: both are within the bounds of a case
    (
        ('"21 degC"', '"70 degC"'),
        "unusual",
        "at 70 °C in the three coldest months: usual are 5 to 40 °C",
    ),
    (
        (RAIN, 'leaks.rain = { at = "sheathing", fraction = 1 }'),
        "unusual",
        'rain leak of 100 % of the driving rain: 1 % is usual (ASHRAE 160, as quoted in papers); '
        'is it in percent? write "1 %"',
    ),
    (("[settings]", "[settings]\nfreezing = false"), "unusual", "does not freeze"),
    (("[settings]", "[settings]\nstart_month = 5"), "note", "starts in May"),
    (
        ("[settings]", "[criteria.change.mc_30d]\nlimit = 0.18\n[settings]"),
        "note",
        "criterion mc_30d: limit 18.0 % instead of 20.0 %",
    ),
    (
        ("[settings]", "[criteria]\nskip_days = 350\n[settings]"),
        "wrong",
        "skip_days = 350: too little of 8760 hours",
    ),
    (('base = "plain"', f"{BASE}\ninitial.unprotected = true"), "note", "'sheathing' starts wet"),
    (
        ('base = "plain"', WET),
        "note",
        "'sheathing' starts wet, 24 % by mass",
    ),
    (
        ('leaks.rain = { at = "sheathing" }',
         'leaks.wetting = { at = "sheathing", mass = 0.1, after = 9000 }'),
        "wrong",
        "after 9000 h comes after the end of the run, 8760 h",
    ),
    (('base = "plain"', 'base = "plain"\noutside.rain = "none"'), "unusual", "brings nothing"),
    # 13 is meant as R-13: 13 m²·K/W are; and as RSI, 24 mm of a batt
    (
        ('name = "batt", thickness = "140 mm"', 'name = "batt", resistance = 13'),
        "unusual",
        "'batt' is rated R 13.00 m²·K/W, or R-74: much for one layer; is it an R-value? "
        'write "R-13"',
    ),
    (
        ('name = "batt", thickness = "140 mm"', 'name = "batt", resistance = "R-3.7"'),
        "unusual",
        "usual are 38 to 500 mm",
    ),
    # fibre cement is sold in about 6 to 20 mm, osb from about 6 mm, batts up to about 300 mm
    *(
        ((f'thickness = "{given}"', f'thickness = "{odd}"'), "unusual", words)
        for given, odd, words in (
            ("8 mm", "0.6 m", "is 600 mm of Fibre-cement siding"),
            ("11 mm", "1.1 mm", "is 1.1 mm of Oriented strand board"),
            ("140 mm", "1.4 m", "is 1400 mm of Glass-fibre batt"),
        )
    ),
]  # fmt: skip


@pytest.mark.parametrize(("change", "level", "words"), RULES)
def test_each_rule_speaks(tmp_path: Path, change: tuple[str, str], level: str, words: str) -> None:
    changes = [change] if change[0] else []
    found = told(tmp_path, *changes, code=2 if level == "wrong" else 0)
    assert any(words in text for text in found[level]), found


SILENT = [
    ("two years", TWO, "one year", "starts in"),
    ("one year as needed", ("", ""), "one year, run once", "accumulates"),
    ("two years once", (TWO[0], f'{TWO[1]}\nrepeat = "once"'), "one year", "accumulates"),
    ("both leaks", BOTH, "no air leak", "no leaks"),
    ("normal accuracy", ('accuracy = "draft"', 'accuracy = "normal"'), "coarse run", "coarse"),
    ("a warm room", ('"21 degC"', '"39 degC"'), "the room is at", "usual are"),
    ("a large leak", (RAIN, RAIN.replace(" }", ", fraction = 0.1 }")), "a rain leak of", "percent"),
    ("enough outside", MUCH, "class III", "condenses"),
]


@pytest.mark.parametrize(("what", "change", "one", "two"), SILENT)
def test_a_rule_is_silent_where_all_is_well(
    tmp_path: Path, what: str, change: tuple[str, str], one: str, two: str
) -> None:
    found = told(tmp_path, *([change] if change[0] else []))
    every = " ".join(text for texts in found.values() for text in texts)
    assert one not in every
    assert two not in every


def test_a_sheathing_between_two_tight_layers_is_told(tmp_path: Path) -> None:
    film = (PAINT, POLY + PAINT)
    tight = (OSB, f"  {POLY.replace('film', 'outer film')}{OSB.strip()}")
    found = told(tmp_path, film, tight)
    # 3.4 ng/(Pa·s·m²) is 0.06 perm
    assert any("between 'outer film' (0.059 perm) and 'film'" in t for t in found["unusual"])
    (tmp_path / "open").mkdir()
    assert not any("between" in t for t in told(tmp_path / "open", film)["unusual"])


def test_a_film_inside_in_a_hot_humid_zone_is_told(tmp_path: Path) -> None:
    def hot(lines: list[list[str]]) -> list[list[str]]:
        return [[row[0], "27.0", "80.0", *row[3:]] for row in lines]

    case = write_case(tmp_path, (PAINT, POLY + PAINT), weather=hot)
    text = " ".join(hygro("check", str(case)).stdout.split())
    assert "moisture driven inwards in summer collects behind it" in text


def test_sheets_stand_side_by_side_and_hand_numbers_are_those_of_a_run(tmp_path: Path) -> None:
    case = str(write_case(tmp_path))
    found = json.loads(hygro("check", case, "--json").stdout)
    (sheet,) = [s for s in found["sheets"] if s["wall"] == "plain"]
    assert (sheet["name"], sheet["side"], sheet["retarder"]) == ("paint", "inside", "III")
    assert sheet["permeance"] == pytest.approx([457.6e-12] * 3)  # 8 perm times 57.2
    run = json.loads(hygro("run", case, "--wall", "plain", "--json").stdout)[0]["runs"][0]
    for key in ("U", "outboard_share", "least_share", "winter_rh", "face_temperature"):
        assert found["walls"]["plain"][key] == run["hand"][key]


def test_check_in_inches_and_narrow(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    out = hygro("check", "demonstration", "--units", "ip").stdout
    assert max(len(line) for line in out.splitlines()) <= 80
    for unit in ("W/(m²·K)", "°C", " mm", "ng/("):
        assert unit not in out


def test_every_fault_of_a_case_is_told_by_check(tmp_path: Path) -> None:
    case = write_case(tmp_path, ('rh = "45 %"', "rh = 45"), ('azimuth = "N"', "azimuth = 400"))
    result = hygro("check", str(case))
    assert result.exit_code == 2
    assert len([x for x in result.stderr.splitlines() if x.startswith("error")]) == 2


def test_check_takes_about_a_second() -> None:
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    command = [sys.executable, "-m", "hygro.cli", "check", "demonstration"]
    subprocess.run(command, check=True, capture_output=True)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    # processor time; 3 s for a slow or busy machine, a run of the eight walls takes over ten
    assert after.ru_utime - before.ru_utime < 3.0


@pytest.mark.parametrize("family", sorted(families()))
def test_every_family_loads_and_has_nothing_wrong(tmp_path: Path, family: str) -> None:
    folder = tmp_path / f'My "{family}" walls'
    result = hygro("new", str(folder), "--wall", family)
    assert result.exit_code == 0, result.output
    case = load(folder)
    assert case.name == folder.name
    assert case.note == families()[family]
    (item,) = case.walls
    assert item.wall.leaks.rain
    assert item.wall.leaks.air
    found = json.loads(hygro("check", str(folder), "--json").stdout)
    assert not [r for r in found["remarks"] if r["level"] == "wrong"]
    assert "#" in (folder / "case.toml").read_text(encoding="utf-8")


def test_a_new_case_runs_as_it_is(tmp_path: Path) -> None:
    folder = tmp_path / "first"
    assert hygro("new", str(folder), "--wall", "all-outboard").exit_code == 0
    # safe in practice in any cold climate: all control layers and all insulation outboard
    result = hygro("run", str(folder / "case.toml"), "--strict")
    assert result.exit_code == 0, result.output


def test_a_new_case_takes_a_weather_file(tmp_path: Path) -> None:
    import pvlib

    year = Path(pvlib.__file__).parent / "data" / "723170TYA.CSV"
    folder = tmp_path / "there"
    result = hygro("new", str(folder), "--wall", "double-stud", "--weather", str(year))
    assert result.exit_code == 0, result.output
    case = load(folder)
    assert (folder / case.climate.sources[0]).resolve() == year.resolve()
    assert not (folder / "normals.toml").exists()


def test_families_are_listed() -> None:
    out = hygro("new").stdout
    assert len(families()) == 8
    assert all(name in out for name in families())
    assert json.loads(hygro("new", "--json").stdout) == families()


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("x", "--wall", "all-outbord"), "did you mean 'all-outboard'"),
        (("taken", "--wall", "all-outboard"), "is there already"),
        (("x", "--wall", "all-outboard", "--weather", "no.epw"), "no such file"),
        (("x",), "a folder and a family are needed"),
    ],
)
def test_a_case_that_cannot_be_started_leaves_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, arguments: tuple[str, ...], words: str
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "taken").mkdir()
    (tmp_path / "taken" / "thesis.txt").write_text("precious")
    result = hygro("new", *arguments)
    assert result.exit_code == 2, result.output
    assert words in result.stderr
    assert [p.name for p in tmp_path.rglob("*")] == ["taken", "thesis.txt"]
