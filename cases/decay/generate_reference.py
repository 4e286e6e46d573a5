"""Generate worked values of the wood decay models from their printed equations, standalone.

Viitanen et al. 2010 and Brischke & Rapp 2010, Brischke & Meyer-Veltrup 2016, Isaksson et al.
2013, all from memory. Run `python cases/decay/generate_reference.py`; writes brown_rot.csv,
dose.csv and rating.csv.
"""

from __future__ import annotations

import math
from pathlib import Path

FOLDER = Path(__file__).parent


def critical_days(t: float, rh: float) -> float:
    """Days at constant t in °C and rh in % until the decay process is active."""
    top = 2.3 * t + 0.035 * rh - 0.024 * t * rh
    return 30.0 * top / (-42.9 + 0.14 * t + 0.45 * rh)


def loss_rate(t: float, rh: float) -> float:
    """Mass loss in % per hour once active."""
    return -5.96e-2 + 1.96e-4 * t + 6.25e-4 * rh


def dose_moisture(u: float) -> float:
    """Daily dose of moisture content u in %; 0 below 25 %."""
    if u < 25.0:
        return 0.0
    terms = (-4.98, 0.34, -7.22e-3, 7.18e-5, -3.50e-7, 6.75e-10)
    return sum(c * u**k for k, c in enumerate(terms))


def dose_temperature(t: float) -> float:
    """Daily dose of temperature t in °C; 0 outside 0 to 40 °C."""
    if not 0.0 < t < 40.0:
        return 0.0
    return -1.8e-6 * t**4 + 9.57e-5 * t**3 - 1.55e-3 * t**2 + 4.17e-2 * t


def dose(t: float, u: float) -> float:
    """Daily dose of both, weight 3.2."""
    heat, water = dose_temperature(t), dose_moisture(u)
    return (3.2 * heat + water) / 4.2 if heat > 0.0 and water > 0.0 else 0.0


def simple_dose(t: float, u: float) -> float:
    """Daily dose of the simplified model."""
    water = min(1.0, (u / 30.0) ** 2)
    return water * min(1.0, max(0.0, t / 30.0))


def main() -> None:
    """Write the tables."""
    lines = [
        "# Brown rot on pine sapwood at constant conditions, Viitanen et al. 2010 (from memory);",
        "# computed. t [°C], rh [%], days to activation, mass loss [% per 30 days] once active.",
        "t,rh,days_to_activation,loss_30d",
    ]
    for t in (10.0, 20.0, 25.0):
        for rh in (97.0, 98.0, 100.0):
            lines.append(f"{t},{rh},{critical_days(t, rh):.5f},{720.0 * loss_rate(t, rh):.5f}")
    (FOLDER / "brown_rot.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")

    lines = [
        "# Daily doses, Brischke & Rapp 2010 and Isaksson et al. 2013 (from memory); computed.",
        "# t [°C], u [% by mass], dose of temperature, of moisture, of both, simplified model.",
        "t,u,dose_t,dose_u,dose,simple",
    ]
    for t, u in ((20.0, 25.0), (20.0, 30.0), (10.0, 30.0), (5.0, 40.0), (-2.0, 40.0), (25.0, 20.0)):
        numbers = (dose_temperature(t), dose_moisture(u), dose(t, u), simple_dose(t, u))
        lines.append(",".join([f"{t},{u}", *(f"{value:.6f}" for value in numbers)]))
    (FOLDER / "dose.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")

    lines = [
        "# Decay rating 4 exp(-exp(b - c D)) after an accumulated dose D in days (from memory);",
        "# computed. 2010: b 1.7716, c 0.0032; 2016: b 1.9612, c 0.0037.",
        "dose,rating_2010,rating_2016",
    ]
    for total in (100.0, 325.0, 500.0, 1000.0):
        ratings = [
            4.0 * math.exp(-math.exp(b - c * total))
            for b, c in ((1.7716, 0.0032), (1.9612, 0.0037))
        ]
        lines.append(f"{total},{ratings[0]:.6f},{ratings[1]:.6f}")
    (FOLDER / "rating.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
