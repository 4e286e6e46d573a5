"""Figures of one record, with its title block: what `record.hygro.plot` and `hygro plot` draw."""

from __future__ import annotations

from typing import Any

import xarray as xr
from matplotlib.figure import Figure

from hygro.assess import envelope as ranges
from hygro.assess.field import depth_time
from hygro.assess.hourly import hourly
from hygro.assess.judge import verdict
from hygro.assess.metal import metal_ratings
from hygro.assess.months import monthly_balance
from hygro.assess.places import at_surfaces, find_sheathing, surface
from hygro.assess.verdict import Verdict
from hygro.constants import ZERO_CELSIUS
from hygro.errors import InputError
from hygro.record.provenance import stored_wall
from hygro.show import course, depth, monthly, reserves
from hygro.show.envelope import section_envelope
from hygro.show.metal import Course, metal_course
from hygro.show.section import wall_section
from hygro.show.title_block import TitleBlock, title_block
from hygro.study.trace import Array, daily, trace
from hygro.units import System


def _block(ds: xr.Dataset, judged: Verdict | None) -> TitleBlock:
    return title_block(ds, judged or _verdict(ds))


def _verdict(ds: xr.Dataset) -> Verdict:
    return verdict(ds, sheathing=stored_wall(ds).sheathing)


def time_series(
    ds: xr.Dataset, layer: str | None = None, *, judged: Verdict | None = None
) -> Figure:
    """Draw the daily series at a layer, one panel below the other.

    Parameters
    ----------
    ds : Dataset
        A result, fresh or reopened.
    layer : str, optional
        Default: the sheathing.
    judged : Verdict, optional
        Of the title block; default: by the default criteria.
    """
    whole = judged or _verdict(ds)
    at = whole if layer is None else verdict(ds, sheathing=layer, skip_days=whole.skip_days)
    return course.course([("", trace(ds, at))], block=title_block(ds, whole))


def depth_map(ds: xr.Dataset, *, judged: Verdict | None = None, **options: Any) -> Figure:
    """Draw fields over depth and time; options of `hygro.show.depth.depth_map`."""
    return depth.depth_map(depth_time(ds), block=_block(ds, judged), **options)


def months(ds: xr.Dataset, *, judged: Verdict | None = None, system: System = "si") -> Figure:
    """Draw the water of the layers behind the cladding by month."""
    layer = find_sheathing(ds, stored_wall(ds).sheathing)
    return monthly.monthly(monthly_balance(ds, layer), block=_block(ds, judged), system=system)


def envelope(
    ds: xr.Dataset,
    quantity: str = "relative_humidity",
    *,
    judged: Verdict | None = None,
    system: System = "si",
) -> Figure:
    """Draw least, mean and most across the section for each month."""
    found = ranges.envelope(ds, quantity)
    return section_envelope(found, quantity, block=_block(ds, judged), system=system)


def reserve(ds: xr.Dataset, *, judged: Verdict | None = None) -> Figure:
    """Draw how far each hard criterion is from its limit, the nearest first."""
    found = judged or _verdict(ds)
    return reserves.reserves(
        reserves.bars_of(found), block=title_block(ds, found), title="distance to the limit"
    )


def metal(ds: xr.Dataset, *, judged: Verdict | None = None) -> Figure:
    """Draw temperature and humidity at screws and girts, and at the face where they end.

    Raises
    ------
    InputError
        The wall has no attachments.
    """
    rated = metal_ratings(ds)
    if not rated:
        raise InputError(
            f"plot metal: wall '{stored_wall(ds).name}' has no 'attachments' on a layer"
        )
    run = hourly(ds)
    found = [
        _course(ds, item.attachment, item.rated.temperature, item.rated.humidity) for item in rated
    ]
    for face in dict.fromkeys(surface(run, item.layer, "inner") for item in rated):
        values = (
            at_surfaces(run, f"interface_{name}", (face,))[:, 0]
            for name in ("temperature", "relative_humidity")
        )
        found.append(_course(ds, face.name, *values))
    return metal_course(found, block=_block(ds, judged))


def _course(ds: xr.Dataset, label: str, T: Array, rh: Array) -> Course:
    day = ds["time"].values[: 24 * ((ds.sizes["time"] - 1) // 24) : 24].astype("datetime64[D]")
    return Course(label, day, daily(T) - ZERO_CELSIUS, daily(rh))


def section(ds: xr.Dataset, **options: Any) -> Figure:
    """Draw the wall to scale."""
    return wall_section(stored_wall(ds), **options)
