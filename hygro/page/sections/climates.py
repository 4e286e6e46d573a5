"""Outdoors and rooms as the walls met them, month by month."""

from __future__ import annotations

import json

import numpy as np

from hygro.page.evidence import Air
from hygro.page.subject import Section, Subject
from hygro.show.converted import converted
from hygro.show.words import facing
from hygro.study.compare import Compared
from hygro.types import Data
from hygro.units import show, unit_of

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def climates(subject: Subject) -> Section:
    """Return a table for each pair of room and orientation."""
    tables: dict[tuple[str, str], Data] = {}
    for item in subject.walls:
        key = (item.tight.run.room_name or "room", facing(item.tight.run.wall.azimuth))
        row = tables.setdefault(key, {"walls": [], **_table(subject, item)})
        row["walls"].append(item.name)
    attrs = subject.attrs
    told = [
        (name, converted(_plain(str(attrs[f"climate_{key}"])), subject.system))
        for key, name in (
            ("place", "Place"), ("source", "Source"), ("kind", "Kind of weather"),
            ("source_sha256", "SHA-256 of the source"), ("history", "What was done to it"),
        )
        if attrs.get(f"climate_{key}")
    ]  # fmt: skip
    data = {
        "told": told,
        "tables": [{"room": room, "facing": side, **row} for (room, side), row in tables.items()],
        "T": unit_of("temperature", system=subject.system),
        "rain": unit_of("water sum", system=subject.system),
    }
    answers = ("weather", "room", "driving rain", "climate source")
    lacks = {} if told else {"climate source": "the records do not say where the weather is from"}
    return Section("climate", "Climate and rooms as used", "climates.html", data,
                   tuple(a for a in answers if a not in lacks), lacks)  # fmt: skip


def _plain(text: str) -> str:
    """A stored list as a sentence; other text as it is."""
    return "; ".join(map(str, json.loads(text))) if text.startswith("[") else text


def _table(subject: Subject, item: Compared) -> Data:
    air = subject.shown(item).air
    return {"rows": [_month(air, m, subject) for m in range(12)]}


def _month(air: Air, month: int, subject: Subject) -> list[str]:
    """Name, outdoor temperatures and RH, indoor ones, rain on the wall, for one calendar month."""
    mine = air.month.astype(int) % 12 == month
    if not mine.any():
        return [MONTHS[month], *["–"] * 9]

    def temperatures(values: np.ndarray) -> list[str]:
        found = (values[mine, 0].min(), values[mine, 1].mean(), values[mine, 2].max())
        return [show(float(T), "temperature", system=subject.system, unit=False) for T in found]

    rain = show(float(air.rain[mine].mean()), "water sum", system=subject.system, unit=False)
    return [
        MONTHS[month],
        *temperatures(air.outdoor),
        f"{100 * air.outdoor_rh[mine].mean():.0f}",
        *temperatures(air.indoor),
        f"{100 * air.indoor_rh[mine].mean():.0f}",
        rain,
    ]
