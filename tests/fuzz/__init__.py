"""Random inputs against what must always hold; see `python -m tests.fuzz --help`."""
