"""Decay of wood: activation of a fungus, and a dose that adds up."""

from __future__ import annotations

from collections.abc import Iterator

from hygro.assess.criteria.criterion import Criterion, Finding
from hygro.assess.criteria.rated import Rated
from hygro.assess.growth import dosed, rotted
from hygro.assess.series import peak


def _rot(rated: Rated, row: Criterion) -> Iterator[Finding]:
    ds, way = rated.grows
    for index in rated.wood:
        state, _ = rotted(ds, rated.layers[index], way=way)
        note = f"loss of dry mass {100 * float(state.mass_loss[-1]):.2g} %{rated.years}"
        value, when = peak(state.activation, rated.times)
        hard, year = row.hard and rated.decides(index), rated.year_of(when)
        yield row.finding(rated.layers[index], value, when, service_year=year, hard=hard, note=note)


def _dose(rated: Rated, row: Criterion) -> Iterator[Finding]:
    if rated.sheathing.index in rated.wood:
        dose = dosed(rated.hourly, rated.sheathing.name)
        yield row.finding(rated.sheathing.name, float(dose[-1]) if dose.size else None)


DECAY = Criterion(
    key="decay",
    quantity="activation of brown rot",
    limit=1.0,
    sense="below",
    hard=False,
    source="Viitanen et al. 2010, Eur. J. Wood Prod. 68, 303-313, fitted to pine sapwood "
    "specimens; wood literature: decay is not initiated below about 29 % by mass",
    origin="from memory",
    note="soft: fitted to pine sapwood, used here for all wood-based layers; it may reach 1, where "
    "decay begins, below the 29 % under which none is seen: the hard limit is that of mc_24h",
    judge=_rot,
)

DOSE = Criterion(
    key="dose",
    quantity="decay dose over the run",
    limit=325.0,
    unit="d",
    sense="below",
    hard=False,
    source="Isaksson, Brischke & Thelandersson 2013; Brischke & Rapp 2010",
    origin="from memory",
    note="a dose adds up over the service life; the run shows a few years of it",
    judge=_dose,
)
