"""Residential code tables on vapour retarders and outer insulation, looked up.

Owns the look-up of `data/code_tables.toml`; knows nothing of simulation. A look-up is no proof of
compliance: edition, zone and the authority having jurisdiction decide.
"""

from __future__ import annotations

from typing import Literal, NamedTuple

from hygro.constants import PERM
from hygro.data_files import table
from hygro.errors import InputError, near_matches
from hygro.quantities import R_IP

RetarderClass = Literal["I", "II", "III", "open"]
Inner = Literal["II", "III", "none"]
Framing = Literal["2x4", "2x6"]
CAVITY_R_IP = {"2x4": 13.0, "2x6": 20.0}
"""Cavity insulation that the outer values are usually paired with. [ft²·h·°F/Btu]"""


class CodeValue(NamedTuple):
    """A least resistance, where it stands and how it is known."""

    R: float
    """[m²·K/W]"""
    R_ip: float
    """[ft²·h·°F/Btu]"""
    place: str
    mark: str


class Permission(NamedTuple):
    """Whether a retarder class may stand inside."""

    answer: Literal["yes", "no", "conditional"]
    required: str
    """Whether a retarder is required at all."""
    mark: str


def retarder_class(permeance: float) -> RetarderClass:
    """Vapour retarder class of a permeance, 2021 IRC Table R702.7(1) (dry cup).

    Parameters
    ----------
    permeance : float
        [kg/(m²·s·Pa)]
    """
    if not permeance >= 0.0:
        raise InputError(f"retarder class: permeance = {permeance}: must not be negative")
    if permeance > 1e-6:
        raise InputError(f"retarder class: permeance = {permeance}: kg/(m²·s·Pa), not perm or ng?")
    limits = table("hygro.wall", "code_tables")["classes"]["upper_perm"]
    # A value given as exactly n perm belongs to class n in spite of round-off in the conversion.
    perm = permeance / PERM * (1.0 - 1e-9)
    if perm <= limits["I"]:
        return "I"
    if perm <= limits["II"]:
        return "II"
    return "III" if perm <= limits["III"] else "open"


def permitted(zone: str, inner: Literal["I", "II", "III"]) -> Permission:
    """Whether a class may stand on the inner side of a wall in a thermal zone.

    Raises
    ------
    InputError
        An unknown zone, or a class whose rule there is not known.
    """
    zones = table("hygro.wall", "code_tables")["permitted"]["zones"]
    row = zones[_zone(zone, zones)]
    if inner not in row:
        raise InputError(
            f"code tables: class {inner} inside, zone {zone}: the rule is not available"
        )
    return Permission(row[inner], row["required"], row["mark"])


def least_outer_resistance(
    zone: str, framing: Framing, inner: Inner = "III", *, edition: str = "2021"
) -> CodeValue:
    """Least continuous insulation outside of the framing.

    Parameters
    ----------
    zone : str
        "3" to "8", "4C" for Marine 4; moisture letters of other zones are ignored ("5A" is "5").
    framing : {"2x4", "2x6"}
        Wood framing.
    inner : {"II", "III", "none"}
        Vapour retarder inside; "II" in 2021: responsive retarder or both sides, table R702.7(4).
    edition : str
        Year of the IRC.

    Raises
    ------
    InputError
        If the tables at hand have no value; nothing is interpolated or carried over.
    """
    rows = [row for row in table("hygro.wall", "code_tables")["outer"] if row["inner"] == inner]
    if not rows:
        raise InputError(f"code tables: inner = '{inner}': must be 'II', 'III' or 'none'")
    if framing not in CAVITY_R_IP:
        raise InputError(f"code tables: framing = '{framing}': must be '2x4' or '2x6'")
    known = {row["zone"] for row in rows if edition in row["editions"]}
    if not known:
        raise InputError(f"code tables: edition = '{edition}' has no value for inner '{inner}'")
    name = _zone(zone, known)
    for row in rows:
        if row["zone"] == name and edition in row["editions"]:
            value = float(row["r"][framing])
            place = f"IRC {edition}, zone {name}, {framing}, inner class {inner}"
            return CodeValue(value * R_IP, value, place, row["mark"])
    raise AssertionError("unreachable: the zone was taken from the same rows")


def code_outer_share(value: CodeValue, framing: Framing) -> float:
    """Share of the outer part in cavity (R-13 or R-20) plus outer insulation. [-]"""
    return value.R_ip / (value.R_ip + CAVITY_R_IP[framing])


def least_roof_resistance(zone: str) -> CodeValue:
    """Least air-impermeable insulation of an unvented roof, IRC R806.5 (from memory)."""
    roof = table("hygro.wall", "code_tables")["roof"]
    name = _zone(zone, roof["r"])
    value = float(roof["r"][name])
    return CodeValue(value * R_IP, value, f"{roof['source']}, zone {name}", roof["mark"])


def vented_cladding_suffices(zone: str, sheathing: str) -> bool:
    """Whether vented cladding may replace outer insulation behind class III (from memory)."""
    rows = table("hygro.wall", "code_tables")["vented_instead"]["sheathing"]
    return sheathing in rows.get(zone.rstrip("ABC"), ())


def _zone(zone: str, known: set[str] | dict[str, object]) -> str:
    """Name of the zone in a table: as given, else without its moisture letter (never for 4C)."""
    for name in (zone, zone.rstrip("AB"), zone.rstrip("ABC") if zone != "4C" else zone):
        if name in known:
            return name
    raise InputError(
        f"code tables: zone = '{zone}' has no value here (not available); "
        f"{near_matches(zone, sorted(known))}"
    )


class DeemedPair(NamedTuple):
    """Cavity and outer insulation that a guide deems to comply, wood frame."""

    cavity: float
    """[m²·K/W]"""
    outer: float
    """[m²·K/W]"""
    inner: str
    """What may stand inside."""
    mark: str


def deemed_pairs(zone: str, framing: Framing) -> tuple[DeemedPair, ...]:
    """Pairs of a foam-sheathing industry guide for zones 2 and 4 (not Marine).

    Raises
    ------
    InputError
        For zones whose pairs are not available.
    """
    rows = table("hygro.wall", "code_tables")["pairs"]
    name = _zone(zone, {row["zone"] for row in rows})
    return tuple(
        DeemedPair(cavity * R_IP, outer * R_IP, row["inner"], row["mark"])
        for row in rows
        if row["zone"] == name
        for cavity, outer in row["cavity_outer"].get(framing, ())
    )
