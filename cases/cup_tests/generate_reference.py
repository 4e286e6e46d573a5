"""Generate the steady fluxes of the cup tests.

Run `python cases/cup_tests/generate_reference.py`; writes reference.csv.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

FOLDER = Path(__file__).parent
sys.path.insert(0, str(FOLDER.parent))

import reference_case as rc  # noqa: E402

from hygro.proof.references import cup  # noqa: E402
from hygro.proof.references.physics import saturation_pressure  # noqa: E402


def main() -> None:
    """Write the table."""
    data = rc.read_case(FOLDER)
    specimen, varying = data["specimen"], data["varying"]
    saturation = float(saturation_pressure(np.array(data["case"]["temperature"])))
    lines = [
        f"# Steady fluxes [kg/(m2 s)] with p_sat = {saturation:.3f} Pa; computed. Constant",
        "# permeability without and with films; permeability depending on humidity without films,",
        "# and the humidity [-] in the middle of the specimen in that case.",
        "test,constant,with_films,varying,middle_humidity",
    ]
    for test in data["test"]:
        span = {"dry": test["dry"], "humid": test["humid"]}
        drop = saturation * (test["humid"] - test["dry"])
        base = {key: specimen[key] for key in ("permeability", "thickness")}

        def permeability(humidity: float) -> float:
            return varying["low"] * (1.0 + varying["rise"] * humidity ** varying["power"])

        numbers = [
            cup.constant_flux(**base, pressure_drop=drop),
            cup.constant_flux(**base, pressure_drop=drop, film=specimen["film"]),
            cup.varying_flux(
                permeability, thickness=specimen["thickness"], saturation=saturation, **span
            ),
            cup.varying_profile(permeability, 0.5, **span),
        ]
        lines.append(",".join([test["name"], *(f"{value:.7g}" for value in numbers)]))
    (FOLDER / "reference.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
