"""Random but legal walls and hourly loads for property tests. Owns their ranges; asserts nothing.

Ranges are those of real walls and of hard hours, not of typical ones: 15 K in an hour, frost,
cloudbursts, full sun on dark thin cladding, 300 air changes per hour.
"""

from __future__ import annotations

import numpy as np
from hypothesis import reject
from hypothesis import strategies as st

from hygro.constants import STEFAN_BOLTZMANN
from hygro.errors import InputError
from hygro.material import Material, SheetMaterial
from hygro.material.library import library
from hygro.wall.elements import Gap, Initial, Layer, Membrane, Openings
from hygro.wall.leaks import AirLeak, Leaks, RainLeak, Wetting
from hygro.wall.loads import LEWIS, Loads, SurfaceLoads
from hygro.wall.order import INDOORS
from hygro.wall.surfaces import Inside, Outside
from hygro.wall.wall import Wall
from weather.moistair import saturation_pressure

THICKNESS = {
    "cladding": (0.006, 0.1),
    "masonry": (0.02, 0.3),
    "insulation": (0.02, 0.25),
    "sheathing": (0.006, 0.03),
    "finish": (0.005, 0.03),
}
"""Common thicknesses by group of the library. [m]"""
MATERIALS = sorted(
    (m for m in library().values() if isinstance(m, Material) and m.group != "benchmark"),
    key=lambda material: material.key,
)
"""All of the library but the printed benchmark functions, which are no materials."""
SHEETS = sorted(
    (m for m in library().values() if isinstance(m, SheetMaterial)), key=lambda sheet: sheet.key
)


FACES = [m for m in MATERIALS if m.group not in ("insulation", "benchmark")]
"""What may stand at the faces of a wall that is meant to be one: no bare insulation."""
INSULATION = [m for m in MATERIALS if m.group == "insulation"]


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


def random_loads(wall: Wall, seed: int, hours: int) -> Loads:
    """Hourly loads with jumps, rain, frost and sun, reproducible by `seed`."""
    rng = np.random.default_rng(seed)
    clock = np.arange(hours + 1)
    T_out = _outdoor_temperature(rng, clock)
    p_out = _wander(rng, hours + 1, 0.2, 1.0) * saturation_pressure(T_out, over="iso13788")
    wind = _wander(rng, hours, 0.0, 12.0)
    h_out = 4.0 + 4.0 * np.concatenate([wind[:1], wind])
    T_in = 293.15 + rng.uniform(-3.0, 5.0) + np.cumsum(rng.normal(0.0, 0.2, hours + 1))
    rh_in = _wander(rng, hours + 1, 0.2, 0.7)
    p_in = rh_in * saturation_pressure(T_in, over="water")
    ones, none = np.ones(hours + 1), np.zeros(hours)
    sky_and_sun, rain = _radiation(rng, wall, T_out, clock), _rain(rng, hours)
    flow = wall.air_flow or 0.0
    return Loads(
        time=np.datetime64("2001-01-01T00", "ns") + clock * np.timedelta64(1, "h"),
        outside=SurfaceLoads(T_out, p_out, h_out, LEWIS * h_out, sky_and_sun, rain),
        inside=SurfaceLoads(T_in, p_in, 7.69 * ones, 2.5 * LEWIS * ones, none, none.copy()),
        gap_rate=_gap_rates(wall, hours),
        wind=wind,
        source=_sources(wall, rain),
        air=np.full(hours, flow),
    )


def _outdoor_temperature(rng: np.random.Generator, clock: np.ndarray) -> np.ndarray:
    daily = rng.uniform(0.0, 10.0) * np.sin(2 * np.pi * (clock - 9) / 24)
    T = rng.uniform(243.15, 303.15) + daily + np.cumsum(rng.normal(0.0, 0.5, len(clock)))
    if rng.random() < 0.5:
        T[int(rng.integers(5, len(clock) - 5)) :] += rng.uniform(-15.0, 15.0)
    return np.clip(T, 225.15, 318.15)


def _wander(rng: np.random.Generator, count: int, low: float, high: float) -> np.ndarray:
    """A walk that remembers nine tenths of the hour before, with one jump to anywhere.

    White noise would be no weather: air, wind and clouds change by parts of their range in an hour.
    """
    values = np.empty(count)
    values[0] = rng.uniform(low, high)
    jump = int(rng.integers(1, count))
    for k in range(1, count):
        middle = 0.9 * values[k - 1] + 0.1 * 0.5 * (low + high)
        step = rng.normal(0.0, 0.08 * (high - low))
        values[k] = rng.uniform(low, high) if k == jump else np.clip(middle + step, low, high)
    return values


def _radiation(
    rng: np.random.Generator, wall: Wall, T_out: np.ndarray, clock: np.ndarray
) -> np.ndarray:
    sun = np.maximum(np.sin(2 * np.pi * (clock[1:] - 6.5) / 24), 0.0) * rng.uniform(0.0, 900.0)
    sun = sun * _wander(rng, len(sun), 0.1, 1.0)
    sky = rng.uniform(0.75, 1.0) * STEFAN_BOLTZMANN * T_out[1:] ** 4
    return wall.outside.absorptance * sun + wall.outside.emissivity * sky


def _rain(rng: np.random.Generator, hours: int) -> np.ndarray:
    wet = rng.random(hours) < rng.choice([0.0, 0.1, 0.4])
    return np.where(wet, rng.exponential(1.0, hours), 0.0) / 3600.0


def _gap_rates(wall: Wall, hours: int) -> np.ndarray:
    given = [
        0.0 if isinstance(g.air_change, Openings) else g.air_change * g.depth / 3600.0
        for g in wall.gaps
    ]
    return np.tile(np.array(given, dtype=float), (hours, 1)).reshape(hours, len(given))


def _sources(wall: Wall, rain: np.ndarray) -> np.ndarray:
    columns = []
    for source in wall.leaks.all():
        series = np.zeros(len(rain))
        if isinstance(source, Wetting):
            series[source.hour] = source.mass / 3600.0
        elif isinstance(source, AirLeak):
            series[:] = source.rate
        else:
            series = source.fraction * rain
        columns.append(series)
    return np.stack(columns, axis=1) if columns else np.zeros((len(rain), 0))
