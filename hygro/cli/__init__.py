"""The command line: one file a command. Reads arguments, calls the package, prints."""

from hygro.cli.app import app

__all__ = ["app"]
