"""Wood sorption and indoor air against hand values and the corner values of standards."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from hygro.material.storage import wood_moisture_ratio
from hygro.proof.check import Check, Origin, Outcome, Provenance, compare
from hygro.room.climate import indoor_climate
from hygro.room.models import MoistureExcess, OutdoorRule, Room, ashrae160_temperature
from hygro.room.time import Outdoor
from weather.moistair import saturation_pressure


def wood_sorption() -> Outcome:
    """Equilibrium moisture content of wood: the printed equation and printed points."""
    case = "wood_sorption"
    handbook = "Wood Handbook ch. 4, Hailwood-Horrobin, 21.1 °C, worked by hand"
    equation = Origin(handbook, "own independent implementation")
    points = Origin(
        "Wood Handbook ch. 4, tabulated points; in which transcription they were read was not kept",
        "value remembered, not checked",
    )
    rh = np.array([20, 30, 40, 50, 60, 65, 70, 80, 90, 95]) / 100.0
    printed = [4.49, 6.17, 7.70, 9.24, 10.97, 11.96, 13.09, 15.99, 20.48, 23.89]
    known = np.array(
        [(20, 65, 12.0), (60, 80, 13.56), (60, 55, 8.0), (21, 25, 5.3), (21, 60, 11.1),
         (21, 84, 17.6), (21, 87, 19.0), (21, 97, 25.0)], float,
    )  # fmt: skip
    ours = [100.0 * float(wood_moisture_ratio(h / 100.0, t + 273.15)) for t, h, _ in known]
    return Outcome(
        (
            compare(
                case, "equation at 21.1 °C, 20-95 %", 100.0 * wood_moisture_ratio(rh, 294.25),
                printed, 0.0051, unit="% by mass", origin=equation, at=100 * rh, at_unit="% rh",
                reason="half of the last printed digit",
            ),
            compare(
                case, "eight points, 20-60 °C", ours, known[:, 2], 0.9, unit="% by mass",
                origin=points, at=known[:, 1], at_unit="% rh",
                reason="largest deviation that the handbook states for its own fit",
            ),
        )
    )  # fmt: skip


def indoor() -> Outcome:
    """Indoor climates against the corner values of the standards."""
    case = "indoor_climate"
    checks: list[Check] = []
    memory: Provenance = "value remembered, not checked"
    reason = "round-off of an interpolation"
    outside = np.array([-15.0, -10.0, 5.0, 15.0, 20.0, 28.0])
    for name, printed in (
        ("en15026_normal", [0.30, 0.30, 0.45, 0.55, 0.60, 0.60]),
        ("en15026_high", [0.40, 0.40, 0.55, 0.65, 0.70, 0.70]),
    ):
        found = np.array([_state(OutdoorRule(name), t) for t in outside])
        source = Origin("EN 15026 annex C", memory)
        checks += [
            compare(case, f"humidity, {name}", found[:, 1], printed, 1e-9, unit="1", at=outside,
                    at_unit="°C", origin=source, reason=reason),
            compare(case, f"temperature, {name}", found[:, 0], [20, 20, 20, 22.5, 25, 25], 1e-9,
                    unit="°C", at=outside, at_unit="°C", origin=source, reason=reason),
        ]  # fmt: skip
    cold = np.array([-20.0, -10.0, 0.0, 12.0, 25.0])
    simple = [_state(OutdoorRule("ashrae160_simplified"), t)[1] for t in cold]
    T = np.array([-10.0, 18.3, 19.7, 21.1, 30.0])
    source = Origin("ANSI/ASHRAE 160", memory)
    checks += [
        compare(case, "humidity, ashrae160_simplified", simple, [0.4, 0.4, 0.5, 0.62, 0.7], 1e-9,
                unit="1", at=cold, at_unit="°C", origin=source, reason=reason),
        compare(case, "temperature with cooling",
                ashrae160_temperature(T + 273.15, cooling=True) - 273.15,
                [21.1, 21.1, 22.5, 23.9, 23.9], 1e-9, unit="°C", at=T, at_unit="°C",
                origin=source, reason=reason),
    ]  # fmt: skip
    return Outcome((*checks, *_excess(memory)))


def _excess(memory: Provenance) -> list[Check]:
    case, origin = "indoor_climate", Origin("ISO 13788:2012 annex A", memory)
    ours, printed = [], []
    for number, cold in ((1, 270.0), (2, 540.0), (3, 810.0), (4, 1080.0), (5, 1360.0)):
        room = MoistureExcess(f"iso13788_class{number}", temperature=296.15)
        for celsius, share in ((-5.0, 1.0), (0.0, 1.0), (10.0, 0.5), (20.0, 0.0)):
            outdoor = _outdoor(celsius, 0.5)
            ours.append(
                float((indoor_climate(room, outdoor).vapour_pressure - outdoor.vapour_pressure)[-1])
            )
            printed.append(cold * share)
    density = replace(MoistureExcess("iso13788_class2"), quantity="density", excess=(4e-3, 0.0))
    outdoor = _dry(_outdoor(0.0, 0.5))
    p = float(indoor_climate(density, outdoor).vapour_pressure[0])
    return [
        compare(case, "vapour excess of five classes", ours, printed, 1e-6, unit="Pa",
                origin=origin, reason="round-off of a sum of kPa"),
        compare(case, "4 g/m³ as pressure, class 2", p, 540.0, 5.0, unit="Pa", origin=origin,
                reason="the standard rounds to 10 Pa"),
    ]  # fmt: skip


def _outdoor(celsius: float, rh: float) -> Outdoor:
    time = np.datetime64("2023-01-02T00", "h") + np.arange(72)
    T = np.full(72, celsius + 273.15)
    return Outdoor(time, T, rh * saturation_pressure(T))


def _dry(outdoor: Outdoor) -> Outdoor:
    """The same hours with dry outdoor air."""
    return Outdoor(outdoor.time, outdoor.temperature, np.zeros(len(outdoor.time)))


def _state(room: Room, celsius: float) -> tuple[float, float]:
    climate = indoor_climate(room, _outdoor(celsius, 0.8))
    rh = climate.vapour_pressure / saturation_pressure(climate.temperature)
    return float(climate.temperature[-1] - 273.15), float(rh[-1])
