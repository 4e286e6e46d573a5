"""Hourly heat and moisture through layered walls: walls, runs, records, verdicts.

The names below are imported when they are first used: `import hygro` alone takes a millisecond.
"""

from __future__ import annotations

from importlib import import_module

TYPE_CHECKING = False  # type checkers take it for true; importing it would take most of the time

if TYPE_CHECKING:
    from hygro.assess.criteria import CRITERIA as CRITERIA
    from hygro.assess.criteria import Criterion as Criterion
    from hygro.assess.judge import verdict as verdict
    from hygro.case.climate import climate as climate_of
    from hygro.case.model import load as load_case
    from hygro.case.normals import read_normals as read_normals
    from hygro.decide.study import Study as Study
    from hygro.errors import HygroError as HygroError
    from hygro.errors import InputError as InputError
    from hygro.errors import RecordError as RecordError
    from hygro.errors import SolveError as SolveError
    from hygro.material.library import get_material as get_material
    from hygro.page.report import report as report
    from hygro.record.files import load as open_record
    from hygro.record.files import save as save
    from hygro.record.many import simulate_many as simulate_many
    from hygro.record.simulate import repeat as repeat
    from hygro.record.simulate import simulate as simulate
    from hygro.record.simulate import simulate_loads as simulate_loads
    from hygro.record.simulate import simulate_periodic as simulate_periodic
    from hygro.record.stream import simulate_to_file as simulate_to_file
    from hygro.room.balance import Ashrae160Intermediate as Ashrae160Intermediate
    from hygro.room.balance import Balance as Balance
    from hygro.room.hourly import HourlyRoom as HourlyRoom
    from hygro.room.models import Constant as Constant
    from hygro.room.models import MoistureExcess as MoistureExcess
    from hygro.room.models import OutdoorRule as OutdoorRule
    from hygro.room.models import Seasonal as Seasonal
    from hygro.room.presets import Preset as Preset
    from hygro.room.rooms import get_room as get_room
    from hygro.solve.settings import Settings as Settings
    from hygro.study.along import limit as limit
    from hygro.study.compare import compare as compare
    from hygro.study.varied import LogNormal as LogNormal
    from hygro.study.varied import Normal as Normal
    from hygro.study.varied import Range as Range
    from hygro.study.varied import Samples as Samples
    from hygro.study.varied import Triangular as Triangular
    from hygro.study.varied import Uniform as Uniform
    from hygro.study.varied import Values as Values
    from hygro.wall.elements import Gap as Gap
    from hygro.wall.elements import Initial as Initial
    from hygro.wall.elements import Layer as Layer
    from hygro.wall.elements import Membrane as Membrane
    from hygro.wall.elements import Openings as Openings
    from hygro.wall.elements import Washing as Washing
    from hygro.wall.interruptions import Attachment as Attachment
    from hygro.wall.interruptions import Framing as Framing
    from hygro.wall.interruptions import Joints as Joints
    from hygro.wall.leaks import AirLeak as AirLeak
    from hygro.wall.leaks import Leaks as Leaks
    from hygro.wall.leaks import RainLeak as RainLeak
    from hygro.wall.leaks import Wetting as Wetting
    from hygro.wall.loads import build_loads as build_loads
    from hygro.wall.rain import RainFactors as RainFactors
    from hygro.wall.site import Site as Site
    from hygro.wall.surfaces import Inside as Inside
    from hygro.wall.surfaces import Outside as Outside
    from hygro.wall.wall import Wall as Wall
    from weather.reader import read as read_weather

__version__ = "0.1.0"

_OWNER = {
    "AirLeak": "hygro.wall.leaks",
    "Ashrae160Intermediate": "hygro.room.balance",
    "Attachment": "hygro.wall.interruptions",
    "Balance": "hygro.room.balance",
    "CRITERIA": "hygro.assess.criteria",
    "Constant": "hygro.room.models",
    "Criterion": "hygro.assess.criteria",
    "Framing": "hygro.wall.interruptions",
    "Gap": "hygro.wall.elements",
    "HourlyRoom": "hygro.room.hourly",
    "HygroError": "hygro.errors",
    "Initial": "hygro.wall.elements",
    "InputError": "hygro.errors",
    "Inside": "hygro.wall.surfaces",
    "Joints": "hygro.wall.interruptions",
    "Layer": "hygro.wall.elements",
    "Leaks": "hygro.wall.leaks",
    "LogNormal": "hygro.study.varied",
    "Membrane": "hygro.wall.elements",
    "MoistureExcess": "hygro.room.models",
    "Normal": "hygro.study.varied",
    "Openings": "hygro.wall.elements",
    "OutdoorRule": "hygro.room.models",
    "Outside": "hygro.wall.surfaces",
    "Site": "hygro.wall.site",
    "Preset": "hygro.room.presets",
    "Range": "hygro.study.varied",
    "RainFactors": "hygro.wall.rain",
    "RainLeak": "hygro.wall.leaks",
    "RecordError": "hygro.errors",
    "Samples": "hygro.study.varied",
    "Seasonal": "hygro.room.models",
    "Settings": "hygro.solve.settings",
    "SolveError": "hygro.errors",
    "Study": "hygro.decide.study",
    "Triangular": "hygro.study.varied",
    "Uniform": "hygro.study.varied",
    "Values": "hygro.study.varied",
    "Wall": "hygro.wall.wall",
    "Washing": "hygro.wall.elements",
    "Wetting": "hygro.wall.leaks",
    "build_loads": "hygro.wall.loads",
    "compare": "hygro.study.compare",
    "get_material": "hygro.material.library",
    "get_room": "hygro.room.rooms",
    "limit": "hygro.study.along",
    "read_normals": "hygro.case.normals",
    "repeat": "hygro.record.simulate",
    "report": "hygro.page.report",
    "save": "hygro.record.files",
    "simulate": "hygro.record.simulate",
    "simulate_loads": "hygro.record.simulate",
    "simulate_many": "hygro.record.many",
    "simulate_periodic": "hygro.record.simulate",
    "simulate_to_file": "hygro.record.stream",
    "verdict": "hygro.assess.judge",
}
"""Public names and the modules that own them."""
_RENAMED = {
    "climate_of": ("hygro.case.climate", "climate"),
    "load_case": ("hygro.case.model", "load"),
    "open_record": ("hygro.record.files", "load"),
    "read_weather": ("weather.reader", "read"),
}
"""Public names that are called otherwise by their owner."""

__all__ = [*_OWNER, *_RENAMED]


def __getattr__(name: str) -> object:
    if name not in __all__:
        raise AttributeError(f"module 'hygro' has no attribute '{name}'")
    owner, known_as = _RENAMED.get(name) or (_OWNER[name], name)
    if owner.startswith("hygro.record"):
        import_module("hygro.assess.accessor")  # so that records answer to `record.hygro`
    value = getattr(import_module(owner), known_as)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
