"""How problems are worded: the path of nested ones, labels, unions, limits of length and number."""

from __future__ import annotations

import pickle
from typing import Annotated, Literal

import pytest
from pydantic import Discriminator, Field, Tag, ValidationError

from hygro.declare import declared, read, tag
from hygro.errors import InputError, brief
from hygro.fields import Count, Flag, Fraction, Name, Text, counted
from hygro.problems import LONGEST, MOST_LINES, Problem, RefusedError, findings, one_key, together
from hygro.spelling import of_a_file


@declared
class Round:
    """A thing with a kind."""

    size: Fraction
    kind: Literal["round"] = tag(default="round", kw_only=True)


@declared
class Flat:
    """Another."""

    size: Fraction
    kind: Literal["flat"] = tag(default="flat", kw_only=True)


Thing = Annotated[Round | Flat, Field(discriminator="kind")]
Loose = Annotated[
    Annotated[Fraction, Tag("one")] | Annotated[tuple[Fraction, ...], Tag("many")],
    Discriminator(lambda value: "many" if isinstance(value, list) else "one"),
]


@declared
class Box:
    """What holds things."""

    name: Name
    things: tuple[Thing, ...] = ()
    by_name: dict[str, Thing] = Field(default_factory=dict)
    share: Loose = 0.5
    few: Annotated[tuple[Text, ...], counted(1, 2)] = ("a",)
    count: Annotated[Count, Field(ge=1, lt=9)] = 1
    open: Flag = False


def told(**keys: object) -> list[tuple[str, str]]:
    """Path and text of each problem of a table."""
    table = {"name": "b", **keys}
    with of_a_file():
        with pytest.raises(ValidationError) as caught:
            read(Box, table)
        return [tuple(problem) for problem in findings(caught.value, table, Box)]


TOO_MUCH = '5: must be 0 to 1; is it in percent? write "5 %"'
WORDED: list[tuple[dict[str, object], str, str]] = [
    ({"things": [{"kind": "flat", "size": 5}]}, "things[0].size", TOO_MUCH),
    ({"by_name": {"a b": {"kind": "flat", "size": 5}}}, 'by_name."a b".size', TOO_MUCH),
    ({"by_name": {"a-b": {"kind": "flat", "size": 5}}}, "by_name.a-b.size", TOO_MUCH),
    ({"share": 5}, "share", TOO_MUCH),
    ({"share": [0.1, 5]}, "share[1]", TOO_MUCH),
    ({"things": [{"size": 1}]}, "things[0]", "kind: missing; this key is needed"),
    ({"things": [5]}, "things[0]", "5: must be a table"),
    (
        {"things": [{"kind": "flatt", "size": 1}]},
        "things[0]",
        "kind = \"flatt\": unknown; did you mean 'flat'?",
    ),
    (
        {"things": [{"kind": "flat", "siz": 1, "size": 1}]},
        "things[0].siz",
        "unknown key; did you mean 'size'?",
    ),
    ({"few": ["a", "b", "c"]}, "few", "has 3 items: must have 1 to 2"),
    ({"few": "a"}, "few", "'a': must be a list [...]"),
    ({"count": 0}, "count", "0: must be at least 1"),
    ({"count": 9}, "count", "9: must be below 9"),
    ({"count": 1.5}, "count", "1.5: must be a whole number"),
    ({"open": "yes"}, "open", "'yes': must be true or false"),
    ({"name": ""}, "name", "'': string should have at least 1 character"),
    ({"name": 3}, "name", "3: must be text in quotes"),
]


@pytest.mark.parametrize(("keys", "path", "text"), WORDED)
def test_a_problem_has_its_path_and_its_words(
    keys: dict[str, object], path: str, text: str
) -> None:
    assert told(**keys) == [(path, text)]


def test_a_thing_with_a_name_is_told_beside_its_number() -> None:
    table = {"name": "b", "things": [{"kind": "flat", "name": "lid", "size": 5}]}
    assert told(**table) == [
        ("things[0].size (lid)", TOO_MUCH),
        ("things[0].name (lid)", "unknown key; known: kind, size"),
    ]


def test_a_call_tells_class_name_and_every_problem_by_place_or_by_key() -> None:
    with pytest.raises(RefusedError) as caught:
        Box("lid", [], {}, 5, count=0)
    assert str(caught.value).splitlines() == [
        f"Box 'lid': share: {TOO_MUCH}",
        "Box 'lid': count: 0: must be at least 1",
    ]
    again = pickle.loads(pickle.dumps(caught.value))
    assert (again.problems, str(again)) == (caught.value.problems, str(caught.value))


def test_an_argument_too_many_is_told() -> None:
    with pytest.raises(RefusedError, match="unknown argument"):
        Round(0.5, 0.5)


def test_a_message_is_short_however_much_is_wrong() -> None:
    lines = str(RefusedError("x", [Problem("p", "y" * 999)] * 99)).splitlines()
    assert len(lines) == MOST_LINES + 1
    assert lines[-1] == f"x: ... and {99 - MOST_LINES} more"
    assert len(lines[0]) <= len("x: ") + LONGEST
    assert str(RefusedError("", [Problem("a\nb", "c\x1b[0m")])) == "a\\nb: c\\x1b[0m"


def test_keys_that_exclude_each_other_or_go_together() -> None:
    one_key(a=True, b=False)
    with pytest.raises(InputError, match="one of the arguments 'a', 'b'; it has none"):
        one_key(a=False, b=False)
    with pytest.raises(InputError, match="one of the arguments 'a', 'b'; it has 'a', 'b'"):
        one_key(a=True, b=True)
    together("a", "b = 1", given=None, wanted=False)
    together("a", "b = 1", given=2.0, wanted=True)
    with pytest.raises(InputError, match=r"^a: 2\.0: goes with b = 1, and only there$"):
        together("a", "b = 1", given=2.0, wanted=False)
    with pytest.raises(InputError, match=r"^a: missing; b = 1 needs it$"):
        together("a", "b = 1", given=None, wanted=True)


def test_values_without_end_are_named_briefly() -> None:
    deep: list[object] = []
    for _ in range(100_000):
        deep = [deep]
    assert brief(deep) == brief(10**5000) == "a number or table without end"
    assert brief("x" * 99) == "'" + "x" * 36 + "..."
