"""Generate the reference series of HAMSTAD exercise 4 with the independent finite volumes.

Run `python cases/hamstad_4/generate_reference.py` after generate_loads.py; writes (in a
minute) reference_surfaces.csv and reference_profiles.csv. The outer cells are thinner than 1 µm, so
that a cell stands for the surface.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

FOLDER = Path(__file__).parent
sys.path.insert(0, str(FOLDER.parent))

import reference_case as rc  # noqa: E402
import reference_fv as fv  # noqa: E402

PROFILE = np.array(
    [0.002, 0.005, 0.01, 0.02, 0.03, 0.04, 0.06, 0.08, 0.095, 0.101, 0.105, 0.11, 0.115, 0.119]
)
PROFILE_HOURS = (18, 40, 72, 120)


def load_table() -> tuple[np.ndarray, np.ndarray]:
    """Loads (time, T left, p left, T right, p right, air) and the rain of each hour."""
    data = rc.read_table(FOLDER / "loads.csv")
    columns = [data["hour"] * 3600.0, data["t_equivalent"], data["p_outside"]]
    columns += [data["t_inside"], data["p_inside"], np.zeros(data["hour"].size)]
    return np.column_stack(columns), data["rain"][:-1]


def solve(level: int) -> dict[str, np.ndarray]:
    """Hourly surface states and profiles."""
    case = rc.read_case(FOLDER)
    sizes = ({"first": 1e-6, "largest": 1.6e-3}, {"first": 1e-6, "largest": 1e-3})
    widths = [
        fv.graded(
            layer["thickness"],
            first=size["first"] / level,
            growth=1.3 ** (1.0 / level),
            largest=size["largest"] / level,
        )
        for layer, size in zip(case["layer"], sizes, strict=True)
    ]
    wall, start = rc.build_wall(case, widths)
    loads, rain = load_table()
    result = fv.integrate(wall, start, loads, loads[:, 0], rain=rain, rtol=1e-6)
    humidity = np.exp(-result.suction / fv.KELVIN_SCALE)
    split = widths[0].size
    found = {
        "t_outer": result.temperature[:, 0],
        "rh_outer": humidity[:, 0],
        "w_outer": result.content[:, 0],
        "t_inner": result.temperature[:, -1],
        "rh_inner": humidity[:, -1],
        "w_inner": result.content[:, -1],
        "load_bearing": result.content[:, :split] @ wall.width[:split],
        "finishing": result.content[:, split:] @ wall.width[split:],
    }
    for hour in PROFILE_HOURS:
        found[f"profile_t_{hour}"] = np.interp(PROFILE, result.position, result.temperature[hour])
        found[f"profile_w_{hour}"] = np.interp(PROFILE, result.position, result.content[hour])
    return found


def main() -> None:
    """Integrate on two grids and write the finer results with the difference."""
    coarse, fine = solve(8), solve(16)
    change = {name: float(np.abs(fine[name] - coarse[name]).max()) for name in fine}
    note = [
        "HAMSTAD exercise 4 with the STAND-IN climate of loads.csv and a STAND-IN liquid",
        "conductivity of the load-bearing layer (case.toml).",
        "Computed: independent finite volumes and CVODE (generate_reference.py); not a published",
        "result, the participants' curves are not available.",
    ]
    forms = {"t": ".4f", "r": ".5f", "w": ".4f", "l": ".5f", "f": ".5f"}
    series = [name for name in fine if not name.startswith("profile")]
    rc.write_table(
        FOLDER / "reference_surfaces.csv",
        [
            *note,
            "hour [h]; t [K], rh [-], w [kg/m3] of both surfaces; moisture of each layer [kg/m2].",
            "Largest change from half the resolution: "
            + ", ".join(f"{name} {change[name]:.2g}" for name in series),
        ],
        {"hour": (np.arange(121), ".0f")} | {name: (fine[name], forms[name[0]]) for name in series},
    )
    profiles = [name for name in fine if name.startswith("profile")]
    rc.write_table(
        FOLDER / "reference_profiles.csv",
        [
            *note,
            "x from outside [m]; t [K] and w [kg/m3] at the hours in the names; dw [kg/m3] is the",
            "change of w from half the resolution, large only in the steep front at 0.02 m, 40 h.",
            "Largest change from half the resolution: "
            + ", ".join(f"{name[8:]} {change[name]:.2g}" for name in profiles),
        ],
        {"x": (PROFILE, ".3f")}
        | {name[8:]: (fine[name], ".4f") for name in profiles}
        | {
            f"dw_{hour}": (fine[f"profile_w_{hour}"] - coarse[f"profile_w_{hour}"], ".4f")
            for hour in PROFILE_HOURS
        },
    )


if __name__ == "__main__":
    main()
