"""What varies in a study, as declared: values, a range, or a distribution with its source.

Owns the declarations; what a name or a path means for a wall is known in `hygro.decide`.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping
from numbers import Real
from typing import Annotated, Literal

from pydantic import BeforeValidator, Field, WithJsonSchema

from hygro.declare import declared, tag
from hygro.errors import InputError, brief
from hygro.fields import Count, Flag, Name, Positive, Text, counted
from hygro.problems import refuse
from hygro.types import Plain

MOST_VALUES = 100_000
"""Values of one dimension, and draws of a sample."""


def _written(value: Plain) -> Plain:
    """A number or a text with a unit, as people write it; its unit is known where it leads."""
    if isinstance(value, bool) or not isinstance(value, Real | str):
        raise InputError(f"{brief(value)}: must be a number or a text with a unit")
    if isinstance(value, Real) and not math.isfinite(value):
        raise InputError(f"{value}: must be a finite number")
    return value


_SCHEMA = {"anyOf": [{"type": "number"}, {"type": "string"}]}
Written = Annotated[Plain, BeforeValidator(_written), WithJsonSchema(_SCHEMA)]


@declared
class _Varied:
    """What every way to vary has.

    Parameters
    ----------
    at : str, optional
        Which element of the wall is meant, where a name could mean several.
    """

    at: Text | None = dataclasses.field(default=None, kw_only=True)


@declared
class Values(_Varied):
    """Some values; a plain list is read as one.

    Parameters
    ----------
    values : list
        Numbers, texts with a unit, or names.
    """

    kind: Literal["values"] = tag(default="values", kw_only=True)
    values: Annotated[tuple[Written, ...], counted(1, MOST_VALUES)]


@declared
class Range(_Varied):
    """Values from one end to the other.

    Parameters
    ----------
    low, high : float or str
        The ends, both included.
    steps : int
        How many values.
    spacing : {"even", "ratio"}
        Equal differences or equal ratios.
    """

    kind: Literal["range"] = tag(default="range", kw_only=True)
    low: Written
    high: Written
    steps: Annotated[Count, Field(ge=2, le=MOST_VALUES)] = 20
    spacing: Literal["even", "ratio"] = "even"


@declared
class _Distribution(_Varied):
    """What every distribution has.

    Parameters
    ----------
    source : str
        Where the distribution is from.
    """

    source: Text = dataclasses.field(default="", kw_only=True)


@declared
class Uniform(_Distribution):
    """Every value between two ends is as likely as any other.

    Parameters
    ----------
    low, high : float or str
        The ends.
    """

    kind: Literal["uniform"] = tag(default="uniform", kw_only=True)
    low: Written
    high: Written


@declared
class Triangular(_Distribution):
    """Likeliest at one value, impossible beyond two ends.

    Parameters
    ----------
    low, mode, high : float or str
        The ends and the likeliest value between them.
    """

    kind: Literal["triangular"] = tag(default="triangular", kw_only=True)
    low: Written
    mode: Written
    high: Written


@declared
class Normal(_Distribution):
    """The normal distribution, whole or truncated.

    Parameters
    ----------
    mean, deviation : float or str
        Mean and standard deviation of the whole distribution.
    truncate : list of two
        Values outside of these are drawn anew; without it the whole distribution must lie within
        the bounds of the quantity. Nothing is ever clipped.
    """

    kind: Literal["normal"] = tag(default="normal", kw_only=True)
    mean: Written
    deviation: Written
    truncate: Annotated[tuple[Written, ...], counted(2, 2)] | None = None


@declared
class LogNormal(_Distribution):
    """A value whose logarithm is normally distributed, whole or truncated.

    Parameters
    ----------
    median : float or str
        Half of the values lie below.
    spread : float
        Geometric standard deviation: two thirds of the values lie within median times or over it.
        [1]
    truncate : list of two
        Values outside of these are drawn anew. Nothing is ever clipped.
    """

    kind: Literal["log-normal"] = tag(default="log-normal", kw_only=True)
    median: Written
    spread: Positive
    truncate: Annotated[tuple[Written, ...], counted(2, 2)] | None = None

    def __post_init__(self) -> None:
        """Refuse a spread that is none."""
        if not self.spread > 1.0:
            refuse("spread", f"{self.spread:g}: must be above 1; it is a factor, such as 1.3")


@declared
class Samples(_Distribution):
    """Given samples, each as likely as any other, such as measured values.

    Parameters
    ----------
    samples : list
        Numbers or texts with a unit.
    """

    kind: Literal["samples"] = tag(default="samples", kw_only=True)
    samples: Annotated[tuple[Written, ...], counted(2, MOST_VALUES)]


AnyDistribution = Uniform | Triangular | Normal | LogNormal | Samples


def _tabled(value: Plain) -> Plain:
    """A plain list is `values`; a table without a kind with `low` and `high` is a range."""
    if isinstance(value, list | tuple):
        return {"kind": "values", "values": value}
    if isinstance(value, Mapping) and "kind" not in value:
        return {"kind": "values" if "values" in value else "range", **value}
    if value is None or isinstance(value, int | float | str):
        told = brief(value)
        such = "" if value is None else f", such as [{told}]"
        raise InputError(
            f"{told}: must be a list of values{such}, a range with low and high, or a distribution"
        )
    return value


Varied = Annotated[
    Annotated[
        Values | Range | Uniform | Triangular | Normal | LogNormal | Samples,
        Field(discriminator="kind"),
    ],
    BeforeValidator(_tabled),
]
Leaking = Literal["verdict", "all", "none"]


@declared
class StudyEntry:
    """A study of one wall: what varies, and how it is run; `hygro study` and its sisters run it.

    Parameters
    ----------
    vary : table
        What varies, by a path of the case (`"layers.sheathing.thickness"`, `"room.home.rh"`) or by
        a name of the trade (`outboard_share`, `winter_rh`, `rain_leak`, ...): a list of values, a
        range or a distribution. The first named varies slowest.
    wall : str, optional
        The wall that is studied; left out: the only one.
    leaks : {"verdict", "all", "none"}
        Runs at every point: tight and with each kind of leak, as a verdict asks; with all leaks;
        without any.
    samples : int
        Points that are drawn where distributions vary.
    method : {"sobol", "latin hypercube"}
        How they are drawn.
    seed : int
        Another seed draws other points.
    keep : bool
        Every run leaves its hourly record beside the store.
    note : str
        What the study is for.
    """

    vary: Annotated[Mapping[Name, Varied], counted(1, of=Mapping)]
    wall: Text | None = None
    leaks: Leaking = "verdict"
    samples: Annotated[Count, Field(ge=2, le=MOST_VALUES)] = 256
    method: Literal["sobol", "latin hypercube"] = "sobol"
    seed: Annotated[Count, Field(ge=0)] = 1
    keep: Flag = False
    note: Text = ""
