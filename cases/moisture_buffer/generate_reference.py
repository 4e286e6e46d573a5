"""Generate the ideal moisture buffer values.

Run `python cases/moisture_buffer/generate_reference.py`; writes reference.csv.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

FOLDER = Path(__file__).parent
sys.path.insert(0, str(FOLDER.parent))

import reference_case as rc  # noqa: E402

from hygro.proof.references import series  # noqa: E402


def main() -> None:
    """Write the table."""
    data = rc.read_case(FOLDER)
    case, material = data["case"], data["material"]
    saturation, period = case["saturation"], case["period"]
    effusivity = series.buffer_effusivity(saturation=saturation, **material)
    square = series.buffer_uptake_square(
        effusivity=effusivity, saturation=saturation, period=period, share=case["high_share"]
    )
    ramped = series.buffer_uptake_ramped(
        effusivity=effusivity,
        saturation=saturation,
        period=period,
        share=case["high_share"],
        ramp=3600.0,
    )
    sine = series.buffer_uptake_sine(effusivity=effusivity, saturation=saturation, period=period)
    storage = material["density"] * material["sorption_slope"]
    diffusivity = material["permeability"] * saturation / storage
    depth = series.penetration_depth(diffusivity=diffusivity, period=period)
    rows = (
        ("effusivity", effusivity, "kg/(m2 Pa s^0.5)"),
        ("buffer_value_square", square / 100.0, "kg/(m2 %RH)"),
        ("uptake_square", square * (case["high"] - case["low"]), "kg/m2 per cycle"),
        ("uptake_ramped", ramped * (case["high"] - case["low"]), "kg/m2 per cycle"),
        ("uptake_sine", sine * 0.5 * (case["high"] - case["low"]), "kg/m2 per cycle"),
        ("factor_square", square / (effusivity * saturation * np.sqrt(period)), "-"),
        ("depth_1_percent", depth, "m"),
    )
    lines = [
        "# Half space with linear sorption, no surface film; series computed. The sine swings",
        "# between the same two humidities. Ramped: each change takes one hour.",
        "# The factor is uptake / (b_m p_sat sqrt(t_p)) per unit of humidity; the",
        "# protocol prints 0.00568 per % (from memory).",
        "quantity,value,unit",
        *(f"{name},{value:.6g},{unit}" for name, value, unit in rows),
    ]
    (FOLDER / "reference.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
