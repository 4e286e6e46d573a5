"""From a raw run to the Dataset of the variable table. Owns names, units and derived arrays."""

from __future__ import annotations

from typing import Any

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from hygro.material.model import NOT_STATED
from hygro.record.humidity import humidity
from hygro.record.variables import SIDES, VARIABLES
from hygro.solve.balance import enthalpy, interface_fluxes, layer_sums
from hygro.solve.setup import Run
from hygro.wall.loads import Loads
from hygro.wall.series import at_hour_ends, stored_arrays
from hygro.wall.wall import Wall
from weather.moistair import saturation_pressure

Array = NDArray[np.float64]
HOUR = 3600.0


def to_dataset(wall: Wall, loads: Loads, run: Run, attrs: dict[str, object]) -> xr.Dataset:
    """The Dataset of a run, every array with unit, long name and cell methods."""
    data = to_arrays(wall, loads, run) | _derived(wall, run)
    coords = {k: v for k, v in data.items() if VARIABLES[k].kind == "coordinate"}
    variables = {k: v for k, v in data.items() if VARIABLES[k].kind == "variable"}
    return xr.Dataset(
        {name: _array(name, values) for name, values in variables.items()},
        coords={name: _array(name, values) for name, values in coords.items()},
        attrs=attrs,
    )


def to_arrays(wall: Wall, loads: Loads, run: Run) -> dict[str, Any]:
    """The arrays of a run that ratings read, dimensions as in the variable table."""
    return {
        **_coordinates(wall, loads, run),
        **_states(run),
        **_exchanged(loads, run),
        **_gaps(wall, run),
        **stored_arrays(loads),
    }


def _array(name: str, values: object) -> tuple[tuple[str, ...], object, dict[str, str]]:
    row = VARIABLES[name]
    return row.dims, values, dict(row.attrs)


def _coordinates(wall: Wall, loads: Loads, run: Run) -> dict[str, object]:
    grid = run.grid
    layers = wall.solids
    found: dict[str, object] = {
        "time": loads.time,
        "side": list(SIDES),
        "cell_depth": grid.depth,
        "cell_thickness": grid.thickness,
        "cell_layer": grid.layer,
        "layer_name": [layer.name for layer in layers],
        "layer_thickness": [layer.thickness for layer in layers],
        "layer_density": [layer.material.density for layer in layers],
        "layer_wood_based": [int(layer.material.wood_based) for layer in layers],
        "layer_absorbent": [int(layer.material.absorbent) for layer in layers],
        "layer_mould_class": [layer.material.mould_class or NOT_STATED for layer in layers],
        "layer_corrosion_class": [x.material.corrosion_class or NOT_STATED for x in layers],
        "layer_s_crit": [x.material.s_crit or np.nan for x in layers],
        "layer_w_sorbed": [layer.material.w_sorbed for layer in layers],
        "layer_w_free": [layer.material.w_free for layer in layers],
        "layer_w_max": [layer.material.w_max for layer in layers],
        "interface_name": [i.name for i in grid.interfaces],
        "interface_depth": [i.depth for i in grid.interfaces],
    }
    if wall.gaps:
        found["gap_name"] = [gap.name for gap in wall.gaps]
    # the names once more as the index of their dimension: what `sel` looks up
    return found | {name[:-5]: found[name] for name in found if name in _NAMES}


_NAMES = ("layer_name", "interface_name", "gap_name")


def _states(run: Run) -> dict[str, object]:
    grid = run.grid
    return {
        "temperature": run.T,
        "relative_humidity": run.rh,
        "water_content": run.w,
        "ice_content": run.ice,
        "interface_temperature": run.interface_T,
        "interface_vapour_pressure": run.interface_p,
        "interface_relative_humidity": humidity(run.interface_T, run.interface_p),
        "layer_water": layer_sums(run.w, grid.thickness, grid.layer),
    }


def _derived(wall: Wall, run: Run) -> dict[str, object]:
    """What follows from the states and no rating reads."""
    grid = run.grid
    share = (
        grid.thickness
        / layer_sums(np.ones((1, len(grid.layer))), grid.thickness, grid.layer)[0][grid.layer]
    )
    return {
        "vapour_pressure": np.asarray(run.rh * saturation_pressure(run.T, over="iso13788")),
        "layer_temperature": layer_sums(run.T, share, grid.layer),
        **_fluxes(wall, run),
    }


def _fluxes(wall: Wall, run: Run) -> dict[str, object]:
    """Heat and moisture through the interfaces, from the balances of the layers."""
    grid, ledger = run.grid, run.ledger
    dry = np.array([x.material.density * x.material.heat_capacity for x in wall.solids])
    heat = layer_sums(enthalpy(run.T, run.w, run.ice, dry[grid.layer]), grid.thickness, grid.layer)
    water = layer_sums(run.w, grid.thickness, grid.layer)
    gaps = [k for k, i in enumerate(grid.interfaces) if i.gap is not None]
    energy_gap = {k: ledger.energy_gap[:, g] for g, k in enumerate(gaps)}
    vapour_gap = {k: ledger.vapour_gap[:, g] for g, k in enumerate(gaps)}
    inflow = ledger.vapour_outside + ledger.rain_absorbed - ledger.drip_outside
    return {
        "heat_flux": at_hour_ends(
            interface_fluxes(ledger.energy_outside, heat, ledger.energy_source, energy_gap)
        ),
        "moisture_flux": at_hour_ends(
            interface_fluxes(inflow, water, ledger.water_source, vapour_gap)
        ),
    }


def _exchanged(loads: Loads, run: Run) -> dict[str, object]:
    """What crossed the boundaries and what leaked in, hour by hour."""
    ledger = run.ledger
    dripped = ledger.drip_outside + ledger.drip_inside - ledger.water_inside
    incident = loads.outside.rain
    absorbed = ledger.rain_absorbed / HOUR
    return {
        "rain_absorbed": at_hour_ends(absorbed),
        "rain_runoff": at_hour_ends(incident - absorbed),
        "leak_rain": at_hour_ends(ledger.leak_rain / HOUR),
        "drained": at_hour_ends((ledger.drained + dripped) / HOUR),
        "leak_vapour": at_hour_ends(ledger.leak_vapour / HOUR),
        "layer_source": at_hour_ends(ledger.water_source / HOUR),
    }


def _gaps(wall: Wall, run: Run) -> dict[str, object]:
    if not wall.gaps:
        return {}
    depth = np.array([gap.depth for gap in wall.gaps])
    return {
        "gap_temperature": np.concatenate([run.gap_T[:1], run.gap_T]),
        "gap_vapour_pressure": np.concatenate([run.gap_p[:1], run.gap_p]),
        "gap_air_change": at_hour_ends(run.gap_rate / depth * HOUR),
    }
