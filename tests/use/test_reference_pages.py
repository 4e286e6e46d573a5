"""The reference pages say what the declarations say, and their examples can be run."""

from __future__ import annotations

import dataclasses
import importlib.util
import re
import shutil
import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np
import pytest
from case_files import SOUND, write_case

from hygro.case.file import CaseFile
from hygro.case.materials import shelf
from hygro.case.model import from_data
from hygro.case.template import expand
from hygro.declare import read
from hygro.describe import described
from hygro.errors import InputError
from hygro.material.library import load_file
from hygro.record import simulate_loads

DOCS = Path(__file__).parents[2] / "docs"


def script() -> ModuleType:
    spec = importlib.util.spec_from_file_location("make_reference", DOCS / "make_reference.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


REFERENCE = script()
TABLES = REFERENCE.tables()


@pytest.mark.parametrize("name", ["case-file.md", "materials.md", "record.md", "boundary.md"])
def test_a_page_is_what_the_declarations_give(name: str) -> None:
    """Run `python docs/make_reference.py` after a change of a declaration."""
    assert (DOCS / "reference" / name).read_text(encoding="utf-8") == REFERENCE.pages()[name]


def test_boundary_data_are_made_from_scratch_as_the_page_says() -> None:
    """The example runs; without any variable of the table, or with another unit, it is refused."""
    page = (DOCS / "reference" / "boundary.md").read_text(encoding="utf-8")
    code = page.split("```python\n")[1].split("```")[0]
    found: dict[str, Any] = {}
    exec(code, found)
    assert found["record"].sizes["time"] == 24 * 30 + 1
    faces = found["record"]["interface_temperature"].values[-1, :, 0] - 273.15
    assert faces[0] == pytest.approx(-5.0, abs=0.5)  # air, sky and ground are all at -5 °C
    assert faces[-1] == pytest.approx(21.0, abs=1.5)
    needed = page.split("## Needed\n")[1].split("\n## ")[0]
    rows = re.findall(r"^\| `(\w+)` \| time \| ([^|]+) \|", needed, re.MULTILINE)
    rows = [(name, unit.strip()) for name, unit in rows if name != "time"]
    assert {name for name, _ in rows} == set(found["boundary"].data_vars)
    for name, unit in rows:
        with pytest.raises(InputError, match=f"'{name}' is missing"):
            simulate_loads(found["wall"], found["boundary"].drop_vars(name))
        other = found["boundary"].copy(deep=True)
        other[name].attrs["units"] = "other"
        with pytest.raises(InputError, match=f"must be '{re.escape(unit)}'"):
            simulate_loads(found["wall"], other)
    for name in ("gap_exchange", "source_rate"):
        assert f"`{name}`" in page


def test_every_figure_is_there() -> None:
    text = (DOCS / "reference" / "materials.md").read_text(encoding="utf-8")
    named = re.findall(r"\]\((\S+\.png)\)", text)
    assert len(named) == 5  # one a kind of curve
    assert all((DOCS / "reference" / name).is_file() for name in named)


@pytest.mark.parametrize("cls", TABLES, ids=lambda cls: cls.__name__)
def test_every_key_has_a_meaning(cls: type) -> None:
    assert [key.key for key in described(cls) if not key.meaning] == []


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with what the examples name."""
    here = tmp_path_factory.mktemp("examples")
    write_case(here, hours=24)
    shutil.copy(DOCS.parent / "cases/demonstration/normals.toml", here)
    (here / "room.csv").write_text("T,RH\n" + "20,50\n" * 24, encoding="utf-8")
    (here / "sorption.csv").write_text(REFERENCE.EXAMPLES["points_file"].strip(), encoding="utf-8")
    (here / "my_rules.py").write_text("def hot(record):\n    yield from ()\n", encoding="utf-8")
    return here


def held(value: object) -> Iterator[Any]:
    """Everything in a value."""
    yield value
    if dataclasses.is_dataclass(value):
        value = [getattr(value, field.name) for field in dataclasses.fields(value)]
    inner = value.values() if isinstance(value, Mapping) else value
    for item in inner if isinstance(inner, list | tuple) or inner is not value else ():
        yield from held(item)


@pytest.mark.parametrize("cls", TABLES, ids=lambda cls: cls.__name__)
def test_the_example_of_a_table_is_loaded_and_has_it(cls: type, folder: Path) -> None:
    """Beside it stand the tables of a small case that it does not have itself."""
    tables = tomllib.loads(SOUND) | tomllib.loads(REFERENCE.EXAMPLES[cls.__name__])
    from_data(tables, path=folder / "case.toml")
    whole = expand(tables)[0]
    own, _, problems = shelf(whole, folder)
    assert problems == []
    file = read(CaseFile, whole, shelf=own, folder=folder)
    small = read(CaseFile, expand(tomllib.loads(SOUND))[0], folder=folder)
    defaults = {id(item) for item in held(small)}  # such as the surfaces of every wall
    assert [item for item in held(file) if isinstance(item, cls) and id(item) not in defaults]


@pytest.mark.parametrize("name", ["Material", "SheetMaterial", "points"])
def test_the_example_of_a_material_is_loaded(name: str, folder: Path) -> None:
    (folder / "own.toml").write_text(REFERENCE.EXAMPLES[name], encoding="utf-8")
    (found,) = load_file(folder / "own.toml").values()
    if name == "points":
        assert found.storage.rh[0] == (0.33, 6.1)  # the first row of the file shown


FORMS = [(kind, cls) for kind in REFERENCE.KINDS for cls in REFERENCE.forms(kind.forms)]


@pytest.mark.parametrize(("kind", "cls"), FORMS, ids=lambda item: getattr(item, "__name__", ""))
def test_the_example_of_a_form_is_the_curve_that_is_drawn(kind: object, cls: type) -> None:
    text, curve, _ = REFERENCE.example(kind, cls)
    page = (DOCS / "reference" / "materials.md").read_text(encoding="utf-8")
    assert f"```toml\n{text}\n```" in page
    again = read(kind.forms, tomllib.loads(text)[kind.key])
    assert type(again) is cls
    if getattr(curve, "storage", None) is not None:  # set by the material, no key of a table
        again = dataclasses.replace(again, storage=curve.storage)
    assert again == curve
    assert [key.key for key in described(cls) if not key.meaning] == []


def test_a_figure_draws_every_form_of_its_kind() -> None:
    for kind, figure in zip(REFERENCE.KINDS, REFERENCE.figures().values(), strict=True):
        labels = {text.get_text() for axes in figure.axes for text in axes.texts}
        assert len(labels) == len(REFERENCE.forms(kind.forms))
        drawn = [line.get_ydata() for axes in figure.axes for line in axes.lines]
        assert all(np.isfinite(y).all() for y in drawn)
