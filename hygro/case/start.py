"""A new case from a family of walls: a folder with a commented case that runs. Owns that step.

The families lie in `families/`, one file each; the first line of a file says what it is.
"""

from __future__ import annotations

import json
import os
from pathlib import Path
from string import Template

import weather
from hygro.atomic import writable_folder, write_text
from hygro.case.locate import built_in
from hygro.errors import InputError, near_matches

_FOLDER = Path(__file__).resolve().parent / "families"
_NOTE = "# note: "
GENERATED = """\
# Invented: hourly weather generated from the monthly normals of an invented cold town.
# For a real place put a weather file here: file = "year.epw"
generate = { normals = "normals.toml", seed = 20, years = 3 }"""


def families() -> dict[str, str]:
    """Return what each family is, by its name."""
    files = sorted(_FOLDER.glob("[a-z]*.toml"))
    return {file.stem: _note(file.read_text("utf-8")) for file in files}


def _note(text: str) -> str:
    return text.splitlines()[0].removeprefix(_NOTE)


def start(folder: Path, family: str, *, weather_file: Path | None = None) -> Path:
    """Write a case of one wall into a new folder and return its file.

    Parameters
    ----------
    folder : Path
        Its last part becomes the name of the case.
    family : str
        One of `families`.
    weather_file : Path, optional
        Left out: the invented normals of the demonstration are copied.

    Raises
    ------
    InputError
        An unknown family, a folder that holds something, or one that cannot be written.
    WeatherError
        The weather file cannot be read.
    """
    known = families()
    if family not in known:
        raise InputError(f"wall family '{family}': unknown; {near_matches(family, known)}")
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise InputError(f"{folder}: is there already, and nothing is overwritten")
    if weather_file is not None:
        weather.read(weather_file)
    text = _text(folder, family, weather_file)
    writable_folder(folder)
    if weather_file is None:
        source = built_in()["demonstration"].parent / "normals.toml"
        write_text(folder / "normals.toml", source.read_text("utf-8"))
    write_text(folder / "case.toml", text)
    return folder / "case.toml"


def _text(folder: Path, family: str, weather_file: Path | None) -> str:
    head = Template((_FOLDER / "_head.toml").read_text("utf-8"))
    wall = (_FOLDER / f"{family}.toml").read_text("utf-8")
    climate = GENERATED
    if weather_file is not None:
        relative = os.path.relpath(weather_file.absolute(), folder.absolute())
        climate = f"file = {_quoted(Path(relative).as_posix())}"
    name = _quoted(folder.absolute().name)
    body = "\n".join(wall.splitlines()[1:])
    return head.substitute(name=name, note=_note(wall), climate=climate) + body + "\n"


def _quoted(text: str) -> str:
    """A TOML basic string; JSON escapes are a part of TOML's."""
    return json.dumps(text.encode("utf-8", "replace").decode())
