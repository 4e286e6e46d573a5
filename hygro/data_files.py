"""Files of tables, shipped or a user's. Owns their reading; knows nothing of what they mean."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files
from pathlib import Path

from hygro.errors import InputError
from hygro.types import Data

LARGEST = 5.0
"""Size of a user's file of tables; hourly numbers belong in files of their own. [MB]"""


@cache
def table(package: str, name: str) -> Data:
    """Data file NAME.toml in the folder `data` of a package, parsed."""
    return tomllib.loads((files(package) / "data" / f"{name}.toml").read_text("utf-8"))


def read_tables(path: Path) -> tuple[Data, str]:
    """Return the tables of a user's TOML file, and its text.

    Raises
    ------
    InputError
        It is too large, cannot be read, is no UTF-8 text, no TOML, or nested too deep. The message
        does not name the file.
    """
    try:
        size = path.stat().st_size / 1e6
        if size > LARGEST:
            raise InputError(f"{size:.0f} MB: must be at most {LARGEST:g} MB; is it another file?")
        text = path.read_text(encoding="utf-8-sig")
        return tomllib.loads(text), text
    except OSError as error:
        raise InputError(f"cannot be read: {error.strerror}") from error
    except UnicodeDecodeError as error:
        raise InputError("is not UTF-8 text; is it another file?") from error
    except RecursionError:
        raise InputError("tables or lists are nested too deep") from None
    except ValueError as error:  # a number of too many digits as well
        raise InputError(f"is not valid TOML: {error}") from error
