"""Deliberate errors, held as data, and how they are tried; see `tests.mutate`."""
