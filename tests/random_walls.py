"""Random but legal walls for property tests; loads are those of `hard_loads`. Asserts nothing."""

from __future__ import annotations

from hard_loads import random_loads as random_loads
from hypothesis import reject
from hypothesis import strategies as st
from wall_parts import FACES, INSULATION, MATERIALS, SHEETS, THICKNESS

from hygro.errors import InputError
from hygro.material import Material
from hygro.wall.elements import Gap, Initial, Layer, Membrane, Openings
from hygro.wall.leaks import AirLeak, Leaks, RainLeak, Wetting
from hygro.wall.order import INDOORS
from hygro.wall.surfaces import Inside, Outside
from hygro.wall.wall import Wall


@st.composite
def layers(draw: object, index: int, materials: list[Material] = MATERIALS) -> Layer:
    material = draw(st.sampled_from(materials))
    low, high = THICKNESS.get(material.group, (0.01, 0.1))
    thin = material.density > 2000 and material.w_max < 5
    thickness = 0.002 if thin else draw(st.floats(low, high))
    start = Initial(rh=draw(st.floats(0.2, 0.95)))
    return Layer(
        material,
        thickness,
        name=f"layer {index}",
        initial=start,
        capillary_contact=draw(st.booleans()),
    )


@st.composite
def gaps(draw: object, index: int) -> Gap:
    change = draw(
        st.one_of(
            st.just(0.0),
            st.floats(1.0, 300.0),
            st.builds(Openings, area=st.floats(1e-4, 0.01), height=st.floats(1.0, 6.0)),
        )
    )
    return Gap(f"gap {index}", draw(st.floats(0.006, 0.05)), change)


@st.composite
def elements(draw: object, bare: bool) -> tuple[Layer | Membrane | Gap, ...]:
    """Layers with sheets and gaps between, sheets on the surfaces.

    Three to six layers with insulation among them, or, `bare`, one to five of anything.
    """
    count = draw(st.integers(1, 5) if bare else st.integers(3, 6))
    kept = -1 if bare else draw(st.integers(1, count - 2))
    found: list[Layer | Membrane | Gap] = []
    for k in range(count):
        kind = draw(st.sampled_from(["none", "none", "sheet", "gap"]))
        if kind == "gap" and k:
            found.append(draw(gaps(k)))
        elif kind != "none":
            sheets = SHEETS if k else [m for m in SHEETS if m.key not in INDOORS]
            found.append(Membrane(draw(st.sampled_from(sheets)), name=f"sheet {k}"))
        face = k in (0, count - 1) and not bare
        pool = INSULATION if k == kept else FACES if face else MATERIALS
        pool = pool if k else [m for m in pool if m.key not in INDOORS]
        found.append(draw(layers(k, pool)))
    if draw(st.booleans()):
        found.append(Membrane(draw(st.sampled_from(SHEETS)), name="paint"))
    return tuple(found)


def _places(layers: list[Layer]) -> dict[str, object]:
    deepest = min(0.02, *(layer.thickness for layer in layers))
    return {
        "at": st.sampled_from([layer.name for layer in layers]),
        "face": st.sampled_from(["outer", "inner"]),
        "depth": st.one_of(st.just(0.001), st.floats(0.001, deepest)),
    }


def _made(*args: object, **more: object) -> Wall:
    try:
        return Wall(*args, **more)
    except InputError:
        reject()


@st.composite
def walls(draw: object, bare: bool = False) -> Wall:
    """Walls with every feature; `bare`: single boards, bare wool and metal sheets as well."""
    parts = draw(elements(bare))
    solids = [e for e in parts if isinstance(e, Layer)]
    porous = [layer for layer in solids if layer.material.w_max > 20.0]
    wet, anywhere = _places(porous or solids), _places(solids)
    most = 1 if porous else 0  # nobody wets the inside of metal
    leaks = st.builds(RainLeak, **wet, fraction=st.floats(0.001, 0.02))
    wettings = st.builds(Wetting, **wet, mass=st.floats(0.01, 1.0), after=st.integers(0, 20))
    air = st.builds(AirLeak, **anywhere, rate=st.floats(1e-6, 3e-4))
    flow = st.floats(-3e-4, 3e-4)
    # some are turned round by chance, which a wall refuses
    return _made(
        "random wall",
        parts,
        outside=Outside(
            absorptance=draw(st.floats(0.1, 0.95)),
            emissivity=draw(st.sampled_from([0.0, 0.3, 0.9])),
        ),
        inside=Inside(),
        air_flow=draw(st.one_of(st.none(), st.none(), flow)),
        leaks=Leaks(
            rain=tuple(draw(st.lists(leaks, max_size=most))),
            wetting=tuple(draw(st.lists(wettings, max_size=most))),
            air=tuple(draw(st.lists(air, max_size=1))),
        ),
    )
