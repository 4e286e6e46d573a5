"""Refusals say what is meant: which room, which instant, which word, and what is near."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from case_files import write_case
from feature_walls import frame
from typer.testing import CliRunner

import hygro
from hygro.cli import app
from hygro.errors import InputError, near_matches
from hygro.paths import place_in, set_value
from hygro.room.climate import indoor_climate
from hygro.room.time import Outdoor
from hygro.wall.elements import Gap

HOURS = np.datetime64("2023-07-01T00", "ns") + np.arange(24) * np.timedelta64(1, "h")
SUMMER = Outdoor(HOURS, np.full(24, 303.15), np.full(24, 3400.0))
WALL = frame(Gap("gap", 0.02, 50.0))


@pytest.mark.parametrize(
    ("room", "words"),
    [
        (
            hygro.get_room("balance", volume=200, air_change=0.1, production="20 kg/day"),
            r"room of kind 'balance': indoor air at 2023-07-01T\d\d:00: RH = .*the balance dries "
            "nothing: give dehumidify_to, more air_change",
        ),
        (
            hygro.MoistureExcess("iso13788_class3", temperature=293.15),
            r"room 'iso13788_class3': indoor air at .*nothing dries the air: give rh_limit",
        ),
    ],
)
def test_a_room_too_humid_is_named_with_what_helps_that_kind(room: object, words: str) -> None:
    with pytest.raises(InputError, match=words) as caught:
        indoor_climate(room, SUMMER)  # type: ignore[arg-type]
    assert "the rule" not in str(caught.value)


def test_instants_are_told_to_the_minute() -> None:
    with pytest.raises(InputError, match=r"time\[5\] = 2023-07-01T06:00 does not follow"):
        Outdoor(np.delete(HOURS, 5), np.full(23, 280.0), np.full(23, 900.0))


@pytest.mark.parametrize("asked", ["closng in", "servce", "", None, 3])
def test_a_question_that_no_record_answers_is_refused_before_the_run(asked: object) -> None:
    def unread() -> None:
        pytest.fail("the climate was looked at")

    for run in (hygro.simulate, hygro.simulate_periodic):
        with pytest.raises(InputError, match="must be 'service' or 'closing in'"):
            run(WALL, unread, unread, provenance={"question": asked})  # type: ignore[arg-type]
    with pytest.raises(InputError, match="provenance: question"):
        hygro.simulate_loads(WALL, unread, provenance={"question": asked})  # type: ignore[arg-type]
    with pytest.raises(InputError, match="provenance: question"):
        list(hygro.simulate_many([], provenance=[{"question": asked}]))


def test_a_misspelt_question_is_offered_the_right_one(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="did you mean 'closing in'"):
        hygro.simulate_to_file(
            WALL,
            None,
            file=tmp_path / "x.nc",
            provenance={"question": "closng in"},  # type: ignore[arg-type]
        )
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("text", ["nan perm", "NaN", "inf mm", "-inf"])
def test_a_text_that_is_no_number_is_not_finite(text: str) -> None:
    with pytest.raises(InputError, match=f"'{text}': must be a finite number"):
        hygro.Membrane("latex-paint", permeance=text)


@pytest.mark.parametrize("path", ["room.kind", "layers.sheathing.material", "layers[0].name"])
def test_a_limit_along_a_word_is_refused(path: str) -> None:
    with pytest.raises(InputError, match=r"is a word; a path to a number is needed"):
        hygro.limit(WALL, None, hygro.Constant(294.0, 0.4), path, 0, 1)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("part", "words"),
    [
        (2, "there is no [2] (there are 2, [0] to [1]); known: board, osb"),
        ("osp", "nothing is called 'osp' (there are 2, [0] to [1]); did you mean 'osb'?"),
    ],
)
def test_what_a_list_lacks_is_told_with_what_it_has(part: int | str, words: str) -> None:
    rows = [{"material": "osb"}, {"name": "board"}]
    with pytest.raises(InputError) as caught:
        place_in(rows, part, "layers")
    assert str(caught.value) == f"path 'layers': {words}"


@pytest.mark.parametrize(
    ("path", "rows", "words"),
    [
        (
            "x.frac",
            [{"fraction": 1}],
            "called 'frac' (there is one, [0]); did you mean 'fraction'?",
        ),
        ("x[3]", [{"fraction": 1}], "there is no [3] (there is one, [0])"),
        ("x[0]", [], "there is no [0] (there are none)"),
        ("x.a", [], "nothing is called 'a' (there are none)"),
    ],
)
def test_elements_without_names_are_told_by_number_and_keys(
    path: str, rows: list[object], words: str
) -> None:
    with pytest.raises(InputError) as caught:
        set_value({"x": rows}, path, 1)
    assert str(caught.value).endswith(words)


def test_a_leak_that_a_case_lacks_is_told_with_how_many_there_are(tmp_path: Path) -> None:
    where = 'wall."leaky".leaks.rain[3].fraction'
    case = str(write_case(tmp_path))
    done = CliRunner().invoke(app, ["limit", case, where, "--low", "0", "--high", "1"])
    assert done.exit_code == 2
    assert "there is no [3] (there is one, [0])" in " ".join(done.stderr.split())


def test_a_limit_along_a_word_of_a_case_is_refused(tmp_path: Path) -> None:
    case = write_case(tmp_path)
    done = CliRunner().invoke(
        app, ["limit", str(case), "room.home.kind", "--wall", "plain", "--low", "0", "--high", "1"]
    )
    assert done.exit_code == 2
    assert "'kind' is a word; a path to a number is needed" in " ".join(done.stderr.split())


def test_of_many_known_words_the_nearest_are_listed() -> None:
    """Nothing is near enough to be meant; the list begins with what is nearest, not with 'a'."""
    many = [f"{letter}{letter}{letter}{letter}" for letter in "abcdefghijklmnop"] + ["zebra"]
    told = near_matches("zxqwzr", many)
    assert told.startswith("known: zebra, ")
    assert told.endswith(", …")
    assert near_matches("xyz", ["one", "a"]) == "known: a, one"
    assert near_matches("xyz", ["one", "a", "a"]) == "known: a, one"  # each once
    assert near_matches("xyz", ["one, wet", "one"]) == "known: 'one', 'one, wet'"


def test_a_layer_of_no_material_says_what_it_must_be() -> None:
    with pytest.raises(InputError, match=r"3\.0: must be a Material"):
        hygro.Layer(3.0, "20 mm")  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("plot", "sries", "x.nc"), "'sries' is not one of 'series'"),
        (("run", "demonstration", "--units", "us"), "'us' is not one of 'si', 'ip'"),
        (("compare", "demonstration", "--processes", "0"), "'--processes'"),
        (("sample", "demonstration", "--samples", "few"), "'--samples'"),
    ],
)
def test_a_wrong_option_is_told_in_plain_words(arguments: tuple[str, ...], words: str) -> None:
    done = CliRunner().invoke(app, list(arguments))
    assert done.exit_code == 2
    told = " ".join(done.output.replace("│", " ").split())
    assert words in told
    assert "Value error" not in told
    assert "Input should" not in told
