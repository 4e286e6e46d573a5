"""What a wall cannot have is refused with the value, the bound and the likely cause."""

from __future__ import annotations

from dataclasses import replace

import pytest
from case_files import write_case
from real_walls import plain, typical

from hygro.case import load
from hygro.errors import InputError
from hygro.room.models import Constant
from hygro.study.limit import limit
from hygro.study.vary import rain_leak_fraction
from hygro.wall.attachments import framing_path, u_values
from hygro.wall.elements import Gap, Layer, Washing
from hygro.wall.interruptions import Attachment, Framing, Joints
from hygro.wall.joints import worst_path
from hygro.wall.wall import Wall


def washed(material: str, depth: float) -> Wall:
    layer = Layer(material, 0.1, name="outboard", wind_washing=Washing(depth))
    return Wall("washed", (layer, Layer("osb", 0.011)))


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: Joints(3.0), "mm"),
        (lambda: Joints(0.003, shrinkage=0.5), "percent"),
        (lambda: Joints(0.003, fill="filled"), "fill_conductivity"),
        (lambda: Attachment("screws", 0.4, 5.0), "mm"),
        (lambda: Attachment("screws", 0.0, 0.005), "spacing: 0: must be 1e-05"),
        (lambda: Framing(25.0, plain(0.13)), "percent"),
        (lambda: Framing(0.25), "one of the arguments"),
        (lambda: worst_path(typical()), "no layer has joints"),
        (lambda: framing_path(typical()), "no layer has framing"),
        (lambda: washed("mineral-wool-board", 3.0), "mm"),
        (lambda: washed("xps", 0.03), "open to air"),
        (lambda: rain_leak_fraction(typical(), Constant(293.15, 0.4)), "no rain leak"),
        (lambda: limit(lambda _: [], 1.0, 0.0, within=0.1), "low"),
    ],
)
def test_refuses_with_a_cause(make, words: str) -> None:
    with pytest.raises(InputError, match=words):
        make()


def test_open_joint_with_nothing_behind_it_is_refused() -> None:
    joints = Joints(0.003, fill="outdoor_air")
    elements = (
        Layer(plain(0.3), 0.01, name="cladding"),
        Gap("gap", 0.02, 100.0),
        Layer(plain(0.04), 0.1, name="insulation", joints=joints),
        Gap("cavity", 0.05),
        Layer(plain(0.25), 0.0125, name="board"),
    )
    with pytest.raises(InputError, match="touch"):
        worst_path(Wall("w", elements))


def test_two_framed_layers_are_refused() -> None:
    wall = typical()
    framing = Framing(0.25, plain(0.13))
    elements = tuple(
        replace(e, framing=framing) if e.name in ("outboard", "batt") else e for e in wall.layers
    )
    with pytest.raises(InputError, match="one framed layer"):
        u_values(replace(wall, layers=elements))


BATT = '{ material = "glass-wool-batt", name = "batt", thickness = "140 mm" }'


@pytest.mark.parametrize(
    ("keys", "words"),
    [
        ("joints = { width = 3 }", "mm"),
        ("joints = { width = 0.003, gap = 1 }", "unknown key"),
        ('attachments = [{ name = "s", spacing = 0.4 }]', "diameter"),
        (
            'attachments = [{ name = "g", kind = "line", spacing = 0.6, diameter = 0.005 }]',
            'goes with kind = "point"',
        ),
        ("framing = { fraction = 0.25 }", "material"),
        ('framing = { fraction = 0.25, material = "softwod" }', "softwood"),
        ("initial = { unprotected = true, moisture_content = 0.2 }", "one of them"),
        ("wind_washing = { depth = 0.5 }", "thickness"),
    ],
)
def test_case_says_what_is_wrong_on_a_layer(tmp_path, keys: str, words: str) -> None:
    path = write_case(tmp_path, (BATT, BATT.replace(" }", f", {keys} }}")), hours=48)
    with pytest.raises(InputError, match=words):
        load(path)


def test_case_says_that_there_is_no_joint_to_run_along(tmp_path) -> None:
    path = write_case(tmp_path, ('name = "plain"', 'name = "plain"\nalso = ["joint"]'), hours=48)
    with pytest.raises(InputError, match=r"also\[0\].*no layer has joints"):
        load(path)


def test_channel_blocked_needs_friction(tmp_path) -> None:
    openings = "air_change = { area = 0.01, height = 2.5, blocked = 0.1 }"
    path = write_case(tmp_path, ("air_change = 100", openings), hours=48)
    with pytest.raises(InputError, match="friction"):
        load(path)
