"""The results of a study as a Dataset: what varies as coordinates, every input's hash beside."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np
import xarray as xr

from hygro.assess.summary import SUMMARY
from hygro.atomic import appearing, replacing
from hygro.decide import attributes
from hygro.decide.engine import device_name, engine_hash, engine_name
from hygro.decide.plan import Plan
from hygro.decide.rate import Row
from hygro.errors import InputError
from hygro.interrupts import interrupt_later
from hygro.kinds import marked
from hygro.types import Data, Plain

_STUDY = marked("results of a study", "plan_sha256")
"""Names of attributes stand in a netCDF file as they are."""


def study_dataset(plan: Plan, rows: Mapping[str, Row], spec: Mapping[str, Plain]) -> xr.Dataset:
    """Return the results of a study over what varies and the leaks that are on.

    `passed` is 1, 0, or -1 where a run was not judged, not done or not finished; numbers of such
    runs are NaN.
    """
    names = list(dict.fromkeys(run.scenario for run in plan.runs))
    shape = (*plan.points.shape, len(names))
    at: dict[int, Plain] = {
        run.number: (*np.unravel_index(run.point, plan.points.shape), names.index(run.scenario))
        for run in plan.runs
    }
    found = [(at[run.number], rows.get(run.sha256), run) for run in plan.runs]
    data: Data = {}
    dims = (*_axes(plan), "scenario")
    for key, says in attributes.TEXTS.items():
        values = np.full(shape, "", dtype=object)
        for place, row, _ in found:
            values[place] = (
                "not finished" if row is None and key == "state" else getattr(row, key, "")
            )
        data[key] = (dims, values, {"long_name": says})
    data["passed"] = (dims, _passed(shape, found), attributes.PASSED)
    data["margin"] = (dims, _numbers(shape, found, lambda row: row.margin), attributes.MARGIN)
    for key, (unit, says) in SUMMARY.items():
        values = _numbers(shape, found, lambda row, key=key: row.numbers.get(key))
        if unit and np.isfinite(values).any():
            data[key] = (dims, values, {"units": unit, "long_name": says})
    for key in sorted({k for _, row, _ in found if row is not None for k in row.criteria}):
        values = _numbers(shape, found, lambda row, key=key: row.criteria.get(key, {}).get("value"))
        how = attributes.of_criterion(key, plan.base.judging.criteria)
        data[f"criterion_{key}"] = (dims, values, how)
    for key, says in attributes.HASHES.items():
        values = _texts(shape, found, lambda row, key=key: row.digests.get(key, ""))
        data[key] = (dims, values, {"long_name": says})
    hashes = np.full(shape, "", dtype=object)
    for place, _, run in found:
        hashes[place] = run.sha256
    data["run_sha256"] = (dims, hashes, attributes.RUN_HASH)
    dataset = xr.Dataset(data, coords=_coords(plan, names), attrs=_attrs(plan, spec))
    for name in dataset.coords:
        dataset[name].encoding["_FillValue"] = None  # a coordinate has no missing values
    return dataset


def _axes(plan: Plan) -> list[str]:
    axes = [d.name for d in plan.dimensions if d.distribution is None]
    drawn = any(d.distribution is not None for d in plan.dimensions)
    return [*axes, "draw"] if drawn else axes


def _coords(plan: Plan, scenarios: Sequence[str]) -> Data:
    found: Data = {"scenario": ("scenario", scenarios, attributes.SCENARIO)}
    for d, values in zip(plan.dimensions, plan.points.values, strict=True):
        dim = d.name if d.distribution is None else "draw"
        array = np.array(values, dtype=None if _is_number(values) else object)
        found[d.name] = (dim, array, attributes.of_dimension(d))
    return found


def _is_number(values: list[Plain]) -> bool:
    return all(isinstance(v, int | float) for v in values)


def _numbers(shape: tuple[int, ...], found: list[Plain], of: Plain) -> np.ndarray:
    values = np.full(shape, np.nan)
    for place, row, _ in found:
        number = None if row is None or row.state != "done" else of(row)
        if isinstance(number, int | float):
            values[place] = number
    return values


def _texts(
    shape: tuple[int, ...], found: list[Plain], of: Plain, otherwise: str = ""
) -> np.ndarray:
    values = np.full(shape, "", dtype=object)
    for place, row, _ in found:
        values[place] = otherwise if row is None else of(row)
    return values


def _passed(shape: tuple[int, ...], found: list[Plain]) -> np.ndarray:
    values = np.full(shape, -1, dtype=np.int8)
    for place, row, _ in found:
        if row is not None and row.passed is not None:
            values[place] = int(row.passed)
    return values


def _attrs(plan: Plan, spec: Mapping[str, Plain]) -> Data:
    return {
        "Conventions": attributes.CONVENTIONS,
        "title": f"{plan.base.name}: study of wall '{plan.base.wall.name}'",
        "study": json.dumps(spec, ensure_ascii=False, default=str),
        "plan_sha256": plan.sha256,
        "engine": engine_name(),
        "engine_sha256": engine_hash(),
        "device": device_name(plan.device) or "cpu",
        "climate_sha256": json.dumps(sorted(plan.climates)),
        "caution": "comparative design aid, no proof of compliance",
    }


def write_dataset(found: xr.Dataset, file: Path) -> None:
    """Write results to netCDF, or to a Zarr folder where the name ends in .zarr.

    Raises
    ------
    InputError
        Another ending, zarr is not installed, the file cannot be written, or another is there.
    """
    if file.suffix == ".zarr":
        _write_zarr(found, file)
        return
    if file.suffix != ".nc":
        raise InputError(f"{file}: results of a study go to a file .nc or a folder .zarr")
    with replacing(file, _STUDY) as temporary, interrupt_later():
        found.to_netcdf(temporary, engine="netcdf4")


def _write_zarr(found: xr.Dataset, file: Path) -> None:
    if file.exists():
        raise InputError(f"{file}: is there already, and nothing is overwritten")
    try:
        with appearing(file) as temporary, interrupt_later():
            found.to_zarr(temporary, zarr_format=2, mode="w")
    except (ImportError, ValueError) as error:
        raise InputError(
            f"{file}: Zarr needs the package zarr: pip install zarr; netCDF (.nc) needs none"
        ) from error
