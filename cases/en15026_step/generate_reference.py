"""Generate the reference profiles of the EN 15026 benchmark from its similarity solution.

Run `python cases/en15026_step/generate_reference.py`; writes reference_content.csv,
reference_temperature.csv and constants.csv (how much the physical constants matter).
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

FOLDER = Path(__file__).parent
sys.path.insert(0, str(FOLDER.parent))

import reference_case as rc  # noqa: E402

from hygro.proof.references.physics import Constants  # noqa: E402
from hygro.proof.references.step_similarity import StepCase, solve_step  # noqa: E402

DAYS = (7, 30, 365)
CONTENT_X = {
    7: np.array([0.0, 0.0025, 0.005, 0.0075, 0.010, 0.0125, 0.015, 0.020, 0.03]),
    30: np.array([0.0, 0.0025, 0.005, 0.010, 0.015, 0.020, 0.025, 0.030, 0.04, 0.06]),
    365: np.array([0.0, 0.01, 0.02, 0.03, 0.04, 0.05, 0.06, 0.07, 0.08, 0.10, 0.15]),
}
TEMPERATURE_X = {
    7: np.array([0.0, 0.1, 0.25, 0.5, 0.75, 1.0, 1.5, 2.0, 3.0]),
    30: np.array([0.0, 0.25, 0.5, 1.0, 1.5, 2.0, 3.0, 4.0, 6.0]),
    365: np.array([0.0, 0.5, 1.0, 2.0, 3.0, 4.0, 6.0, 8.0, 10.0]),
}
# The other set of constants in use for this benchmark: R = 8.314, M_w = 0.018016 and vapour
# enthalpy without sensible part.
OTHER = Constants(vapour_gas_constant=8.314 / 0.018016, vapour_heat=0.0)


def table(case: StepCase, places: dict, which: int, tolerance: float = 1e-8) -> np.ndarray:
    """Rows (day, x, value); `which` 0 is temperature, 1 is water content."""
    found = solve_step(case, tolerance=tolerance)
    rows = [
        [day, x, value]
        for day in DAYS
        for x, value in zip(places[day], found.at(places[day], day * 86400.0)[which], strict=True)
    ]
    return np.array(rows)


def main() -> None:
    """Write the tables."""
    note = [
        "EN 15026 benchmark (2007 edition, from memory): computed from its equations as a",
        "boundary value problem in x/sqrt(t) (generate_reference.py); not the published table.",
    ]
    names = (("temperature", "K", TEMPERATURE_X, 0), ("content", "kg/m3", CONTENT_X, 1))
    for name, unit, places, which in names:
        rows = table(StepCase(), places, which)
        loose = table(StepCase(), places, which, 1e-5)
        spread = np.abs(rows - loose)[:, 2].max()
        rc.write_table(
            FOLDER / f"reference_{name}.csv",
            [
                *note,
                f"day [d], x [m], {name} [{unit}]. Change when the tolerance is 1e-5 instead of "
                f"1e-8: {spread:.1e}",
            ],
            {"day": (rows[:, 0], ".0f"), "x": (rows[:, 1], ".4f"), name: (rows[:, 2], ".5f")},
        )
    base = [table(StepCase(), places, which) for _, _, places, which in names]
    variants = (
        ("R = 8.314 and M_w = 0.018016, no sensible heat of vapour", OTHER),
        ("no sensible heat of vapour", Constants(vapour_heat=0.0)),
        ("no heat of evaporation", Constants(evaporation_heat=0.0)),
        ("density of water 998 kg/m3", Constants(water_density=998.0)),
    )
    lines = ["# " + line for line in note]
    lines += [
        "# Largest change of the tabulated values when a physical constant is changed.",
        "variant,temperature [K],content [kg/m3]",
    ]
    for label, constants in variants:
        changed = StepCase(constants=constants)
        shift = [
            np.abs(table(changed, places, which) - base[which])[:, 2].max()
            for _, _, places, which in names
        ]
        lines.append(f"{label},{shift[0]:.5f},{shift[1]:.5f}")
    (FOLDER / "constants.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
