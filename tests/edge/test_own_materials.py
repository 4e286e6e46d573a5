"""Own materials in Python are checked when a wall takes them, once, unless they are idealised."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from case_files import write_case

import hygro
import hygro.material.check as checking
from hygro.case import CaseError, load
from hygro.declare import plain
from hygro.errors import InputError
from hygro.material.library import get
from hygro.material.storage import BForm, TableStorage, WoodSorption
from hygro.material.thermal import ConstantConductivity
from hygro.material.vapour import ConstantMu, ConstantPermeability, SheetConstant

# sorbs about 170 kg/m³ before its tail: less cannot be free saturation, so the curve falls
FALLING = WoodSorption(density=600.0, w_free=100.0)


def layer(**change: object) -> hygro.Layer:
    return hygro.Layer(replace(get("osb"), **change), 0.011, name="own")


IMPOSSIBLE: list[tuple[dict[str, object], str]] = [
    # 1 - 3500/4000 = 0.125 is left beside a solid of 4000 kg/m³
    ({"density": 3500.0}, r"material\.pore_volume: 0\.57: must be at most 0\.125"),
    ({"pore_volume": 0.05}, "material.storage: "),
    ({"storage": FALLING, "liquid": None, "absorbent": False}, "falling near rh"),
    ({"vapour": ConstantPermeability(1.0)}, r"vapour: 1: must be at most .*mu below 1"),
    ({"thermal": ConstantConductivity(130.0)}, "130: must be at most 10 .*mW"),
    ({"liquid": None, "absorbent": True}, "absorbent: True: must be false without"),
]


@pytest.mark.parametrize(("change", "words"), IMPOSSIBLE)
def test_an_impossible_material_does_not_enter_a_layer(
    change: dict[str, object], words: str
) -> None:
    with pytest.raises(InputError, match=words) as caught:
        layer(**change)
    assert str(caught.value).startswith("Layer 'own': material.")


def test_it_enters_neither_a_stud_nor_a_sheet() -> None:
    with pytest.raises(InputError, match=r"Framing: material\.thermal: 130"):
        hygro.Framing(0.25, replace(get("softwood"), thermal=ConstantConductivity(130.0)))
    with pytest.raises(InputError, match=r"Membrane: material\.permeance: 57\.2.*ng/"):
        hygro.Membrane(replace(get("latex-paint"), permeance=SheetConstant(57.2)))


def test_a_single_number_is_refused_where_it_is_written() -> None:
    with pytest.raises(InputError, match=r"mu: 0\.5: must be 1 to 1e\+09; still air has 1"):
        ConstantMu(0.5)
    with pytest.raises(InputError, match=r"b: 0\.9: must be above 1"):
        BForm(w_free=400.0, b=0.9)
    with pytest.raises(InputError, match=r"density: 0\.6: must be 1 to 9000; kg/m³"):
        replace(get("osb"), density=0.6)


@pytest.mark.parametrize("group", ["idealised", "benchmark"])
def test_an_idealised_material_is_taken_as_it_is(group: str) -> None:
    assert layer(thermal=ConstantConductivity(130.0), group=group).material.group == group


def test_a_case_checks_its_materials_whatever_their_group(tmp_path: Path) -> None:
    text = '[materials.x]\nlike = "osb"\ngroup = "idealised"\nthermal.value = 130.0\n'
    text += 'thermal.form = "constant"\n[settings]'
    with pytest.raises(CaseError, match=r"materials\.x\.thermal: 130: must be at most 10"):
        load(write_case(tmp_path, ("[settings]", text), hours=24))


def test_a_material_is_checked_once_and_its_changed_copy_again(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    seen: list[str] = []
    whole: Callable[..., Any] = checking.check

    def counting(material: object, **more: object) -> Any:
        seen.append(material.name)
        return whole(material, **more)

    monkeypatch.setattr(checking, "check", counting)
    own = replace(get("osb"), key="own", name="first")
    for _ in range(3):
        hygro.Layer(own, 0.011)
    hygro.Layer(replace(own, name="second"), 0.011)
    hygro.Layer("osb", 0.011)  # by key: the library's own tests check it
    assert seen == ["first", "second"]


def test_a_good_own_material_enters() -> None:
    storage = TableStorage(rh=((0.5, 45.0), (0.8, 80.0)), w_free=400.0)
    own = hygro.get_material(
        "osb", key="own", density=600, storage=plain(storage), liquid=None,
        absorbent=False,
    )  # fmt: skip
    assert hygro.Layer(own, 0.011).material.density == 600.0


SLAB = 'material = "osb"', 'material = "slab"'


@pytest.mark.parametrize(
    ("materials", "words"),
    [
        ('[materials.slab]\nlike = "osb"\ndensity = -5\n', ["materials.slab.density: -5"]),
        (
            '[materials.slab]\nlike = "raw"\n[materials.raw]\nlike = "osb"\ndensity = -5\n',
            ["materials.raw.density: -5"],
        ),
        (
            '[materials.raw]\nlike = "osb"\ndensity = -5\n[materials.slab]\nlike = "raw"\n',
            ["materials.raw.density: -5"],
        ),
    ],
    ids=["faulty", "like one that comes later", "like a faulty one"],
)
def test_a_faulty_own_material_is_told_once(
    tmp_path: Path, materials: str, words: list[str]
) -> None:
    case = write_case(tmp_path, SLAB, ("[settings]", f"{materials}[settings]"), hours=24)
    with pytest.raises(CaseError) as caught:
        load(case)
    lines = str(caught.value).splitlines()
    assert len(lines) == len(words), lines
    for line, word in zip(lines, words, strict=True):
        assert word in line


def test_a_material_file_that_fails_leaves_no_unknown_materials(tmp_path: Path) -> None:
    change = ("[case]", 'material_files = ["none.toml"]\n[case]')
    with pytest.raises(CaseError) as caught:
        load(write_case(tmp_path, SLAB, change, hours=24))
    assert len(str(caught.value).splitlines()) == 1
    assert "none.toml: no such file" in str(caught.value)
