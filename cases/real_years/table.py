"""Sheathing against outboard share in real typical years: the numbers of `docs/real-years.md`.

    python cases/real_years/table.py --write && python docs/make_numbers.py

The weather files come with two packages (pvlib, and diyepw installed without its dependencies);
none is part of this repository. No rain and no leaks: the question is the outboard share alone.
"""

from __future__ import annotations

import importlib.util
import json
import sys
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
ROOMS = {"latex-paint": "en15026_high", "polyethylene-150um": "ashrae160_simplified"}
"""Rule of the room behind each inner surface."""
DRY = Initial(rh=0.6)
YEARS = 2
RECORDED = Path(__file__).parents[2] / "docs" / "results" / "real_years.json"


def wall(name: str, outboard: float, cavity: float, inner: str, film: float = 0.1) -> Wall:
    """Vented fibre cement, mineral wool, 35 perm membrane, OSB, glass wool, gypsum, paint.

    Each face of the wools holds a film [kg/m²] before water runs off.
    """
    elements = [
        Layer(get("fibre-cement"), 0.008, name="cladding", initial=DRY),
        Gap("gap", 0.019, 100.0),
    ]
    if outboard:
        elements.append(
            Layer(get("mineral-wool-board"), outboard, name="outboard", initial=DRY, film=film)
        )
    elements += [
        Membrane(get("membrane-35-perm"), name="membrane"),
        Layer(get("osb"), 0.011, name="osb", initial=DRY),
    ]
    if cavity:
        elements.append(
            Layer(get("glass-wool-batt"), cavity, name="cavity", initial=DRY, film=film)
        )
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


def judged(ds: xr.Dataset) -> dict[str, float | bool]:
    """Peak 30-day MC [% by mass], condensate [kg/m² a year], highest mould index, the verdict."""
    result = verdict(ds, sheathing="osb")
    mc = 100 * running_mean(moisture_content(ds, "osb").values, 720)
    name = next(str(n) for n in ds["interface_name"].values if str(n).startswith("osb |"))
    index = max(float(f.value) for f in result.of("mould_index"))
    numbers = {"mc": np.nanmax(mc), "condensate": formed_per_year(formed(ds, name)), "index": index}
    return {k: round(float(x), 4) for k, x in numbers.items()} | {"passed": bool(result.passed)}


def row(place: str, inner: str, room: str, **changes: float) -> dict[str, dict[str, float | bool]]:
    """One place at every share of the insulation outboard."""
    year = climate(*PLACES[place])
    return {
        share: judged(simulate(wall(share, *split, inner, **changes), year, OutdoorRule(room)))
        for share, split in SPLITS.items()
    }


def measure() -> dict[str, object]:
    """Every cell of the tables, and the coldest row without run-off."""
    found = {
        inner: {place: row(place, inner, room) for place in PLACES} for inner, room in ROOMS.items()
    }
    coldest = row("Northway AK (8)", "latex-paint", ROOMS["latex-paint"], film=100.0)
    packages = ("hygro", "pvlib", "diyepw", "numba", "numpy")
    versions = {name: version(name) for name in packages}
    return {"versions": versions, "rooms": ROOMS, "rows": found, "no_run_off": coldest}


def main() -> None:
    """Print what was found, or write it where the pages take it from."""
    text = json.dumps(measure(), indent=1, ensure_ascii=False)
    if "--write" in sys.argv:
        RECORDED.write_text(text + "\n", encoding="utf-8")
    else:
        print(text)


if __name__ == "__main__":
    main()
