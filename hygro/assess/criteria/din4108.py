"""Water in wood by the rules that go with EN 15026 in the German-speaking countries."""

from __future__ import annotations

from collections.abc import Iterator

from hygro.assess.criteria.criterion import Criterion, Finding
from hygro.assess.criteria.moisture import FIBRE_SATURATION, THICK
from hygro.assess.criteria.rated import Rated
from hygro.assess.moisture import content
from hygro.assess.select import array
from hygro.assess.series import DAY, peak, running_mean

PANEL_LIMIT = 0.18
"""Most moisture content of wood-based panels by mass (DIN 68800-2, seen). [1]"""


def _wood(rated: Rated, row: Criterion) -> Iterator[Finding]:
    thickness = array(rated.hourly, "layer_thickness")
    for index in rated.wood:
        panel = thickness[index] <= THICK
        mean = running_mean(content(rated.hourly, rated.layers[index]), DAY)
        yield row.finding(
            rated.layers[index],
            *peak(mean, rated.times),
            limit=min(row.limit, PANEL_LIMIT) if panel else None,
            hard=row.hard and rated.decides(index),
            note="taken for a panel" if panel else "taken for solid wood",
        )


WOOD_CONTENT = Criterion(
    key="wood_content",
    short="MC of wood",
    quantity="24-h mean moisture content by mass",
    limit=0.20,
    percent=True,
    known_to=FIBRE_SATURATION,
    source="DIN 68800-2 with DIN 4108-3: 20 % in solid wood, 18 % in wood-based panels",
    origin="from memory",
    note="layers of at most 20 mm are taken for panels (our choice); the drying reserve of "
    "DIN 4108-3 (100 g/m² a year in walls) needs a run with such a leak",
    judge=_wood,
)
