"""What a run leaves: the Dataset, its variable table, its provenance, its file."""

from hygro.record.files import load, save
from hygro.record.many import march_many, simulate_many
from hygro.record.marched import Marched
from hygro.record.simulate import repeat, simulate, simulate_loads, simulate_periodic
from hygro.record.stream import simulate_to_file

__all__ = [
    "Marched",
    "load",
    "march_many",
    "repeat",
    "save",
    "simulate",
    "simulate_loads",
    "simulate_many",
    "simulate_periodic",
    "simulate_to_file",
]
