"""Where case files are: a path as given, or a built-in name. Owns the search, reads none.

Built-in cases lie beside the installed package, in a source checkout in the folder `cases`.
"""

from __future__ import annotations

from pathlib import Path

from hygro.errors import InputError, file_path, near_matches

_PACKAGE = Path(__file__).resolve().parent.parent
_FOLDERS = (_PACKAGE / "_cases", _PACKAGE.parent / "cases")


def cases_folder() -> Path | None:
    """Return the folder of built-in and published cases, None where there is none."""
    return next((folder for folder in _FOLDERS if folder.is_dir()), None)


def built_in() -> dict[str, Path]:
    """Return the built-in cases: "folder" for folder/case.toml, "folder/x" for x.case.toml."""
    root = cases_folder()
    if root is None:
        return {}
    found = {}
    for path in sorted(root.glob("**/*case.toml")):
        if not _has_walls(path):
            continue
        name = path.name.removesuffix("case.toml").rstrip(".")
        found[(path.parent.relative_to(root) / name).as_posix()] = path
    return found


def _has_walls(path: Path) -> bool:
    """Tell a case of walls from the description of a published exercise beside it."""
    lines = path.read_text("utf-8").splitlines()
    return all(any(x.startswith(head) for x in lines) for head in ("[[wall]]", "[climate"))


def find(name: str | Path) -> Path:
    """Return the case file of a path or of a built-in name.

    Raises
    ------
    InputError
        There is no such file and no such built-in case.
    """
    path = file_path(name, "case").expanduser()
    if path.is_file():
        return path
    if path.is_dir() and (path / "case.toml").is_file():
        return path / "case.toml"
    cases = built_in()
    if str(name) in cases:
        return cases[str(name)]
    if path.is_dir():
        raise InputError(f"{path}: is a folder without a file case.toml")
    raise InputError(
        f"{name}: no such case file, and no built-in case of that name; "
        + near_matches(str(name), cases)
    )
