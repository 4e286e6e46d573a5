"""Sheathing against outboard share in real typical years; prints the table of the README.

    python cases/real_years/table.py

The weather files come with two packages (pvlib, and diyepw installed without its dependencies);
none is part of this repository. No rain and no leaks: the question is the outboard share alone.
"""

from __future__ import annotations

import importlib.util
from importlib.metadata import version
from pathlib import Path

import numpy as np
import xarray as xr

import weather
from hygro.assess import formed, formed_per_year, moisture_content, running_mean, verdict
from hygro.material.library import get
from hygro.record import simulate
from hygro.room.models import OutdoorRule
from hygro.wall.elements import Gap, Initial, Layer, Membrane
from hygro.wall.surfaces import Outside
from hygro.wall.wall import Wall
from weather.series import repeat_years

PLACES = {
    "Northway AK (8)": ("diyepw", "data/tmy_epw_files/USA_AK_Northway.AP.702910_TMY3.epw"),
    "Chicago IL (5A)": (
        "diyepw",
        "data/tmy_epw_files/USA_IL_Chicago.OHare.Intl.AP.725300_TMY3.epw",
    ),
    "Greensboro NC (4A)": ("pvlib", "data/723170TYA.CSV"),
    "Miami FL (1A)": ("pvlib", "data/12839.tm2"),
}
# share of the insulation outboard of the sheathing: (outboard, cavity) thickness [m]
SPLITS = {"0 %": (0.0, 0.19), "15 %": (0.03, 0.16), "30 %": (0.06, 0.13), "50 %": (0.095, 0.095),
          "70 %": (0.13, 0.06), "100 %": (0.19, 0.0)}  # fmt: skip
DRY = Initial(rh=0.6)
YEARS = 2


def wall(name: str, outboard: float, cavity: float, inner: str) -> Wall:
    """Vented fibre cement, mineral wool, 35 perm membrane, OSB, glass wool, gypsum, paint."""
    elements = [
        Layer(get("fibre-cement"), 0.008, name="cladding", initial=DRY),
        Gap("gap", 0.019, 100.0),
    ]
    if outboard:
        elements.append(Layer(get("mineral-wool-board"), outboard, name="outboard", initial=DRY))
    elements += [
        Membrane(get("membrane-35-perm"), name="membrane"),
        Layer(get("osb"), 0.011, name="osb", initial=DRY),
    ]
    if cavity:
        elements.append(Layer(get("glass-wool-batt"), cavity, name="cavity", initial=DRY))
    elements += [
        Layer(get("gypsum-board"), 0.0125, name="gypsum", initial=DRY),
        Membrane(get(inner), name="inner"),
    ]
    return Wall(name, tuple(elements), azimuth=0.0, outside=Outside(rain="none"))


def climate(package: str, path: str) -> xr.Dataset:
    """A typical year twice over."""
    spec = importlib.util.find_spec(package)
    if spec is None or not spec.submodule_search_locations:
        raise SystemExit(f"{package} is not installed: pip install --no-deps {package}")
    return repeat_years(weather.read(Path(spec.submodule_search_locations[0]) / path), YEARS)


def judged(ds: xr.Dataset) -> str:
    """Peak 30-day MC [%], condensate [kg/m² a year], highest mould index; a star where it fails."""
    result = verdict(ds, sheathing="osb", skip_days=0)
    mc = 100 * running_mean(moisture_content(ds, "osb").values, 720)
    name = next(str(n) for n in ds["interface_name"].values if str(n).startswith("osb |"))
    mass = formed_per_year(formed(ds, name))
    index = max(float(f.value) for f in result.of("mould_index"))
    return f"{np.nanmax(mc):.1f} / {mass:.2f} / {index:.1f}" + ("" if result.passed else " \\*")


def main() -> None:
    """Print one Markdown table per inner surface."""
    packages = ("hygro", "pvlib", "diyepw", "numba", "numpy")
    print(", ".join(f"{name} {version(name)}" for name in packages))
    for inner, room in (
        ("latex-paint", "en15026_high"),
        ("polyethylene-150um", "ashrae160_simplified"),
    ):
        print(f"\ninner surface {inner}, room {room}\n")
        print("| place (zone) | " + " | ".join(SPLITS) + " |")
        print("|---" * (len(SPLITS) + 1) + "|")
        for place, source in PLACES.items():
            year = climate(*source)
            cells = [
                judged(simulate(wall(share, *split, inner), year, OutdoorRule(room)))
                for share, split in SPLITS.items()
            ]
            print(f"| {place} | " + " | ".join(cells) + " |")


if __name__ == "__main__":
    main()
