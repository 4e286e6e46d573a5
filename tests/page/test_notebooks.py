"""The notebooks of the docs run as they are, and their values show themselves."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

FOLDER = Path(__file__).parents[2] / "docs/notebooks"
SHOWN = {
    "first-wall": ["text/html"] * 3 + ["image/png"] * 3,
    "choose-a-wall": ["text/html"] * 3,
}
"""Kinds of output besides text that each notebook ends its cells with, in order."""


def run(name: str, monkeypatch: pytest.MonkeyPatch) -> Any:
    nbformat = pytest.importorskip("nbformat", reason="nbformat is not installed")
    nbclient = pytest.importorskip("nbclient", reason="nbclient is not installed")
    pytest.importorskip("ipykernel", reason="ipykernel is not installed")
    book = nbformat.read(FOLDER / f"{name}.ipynb", as_version=4)
    monkeypatch.setenv("PYTHONPATH", str(FOLDER.parents[1]))
    nbclient.NotebookClient(
        book, timeout=300, resources={"metadata": {"path": str(FOLDER)}}
    ).execute()
    return book


@pytest.mark.parametrize("name", SHOWN)
def test_a_notebook_runs_and_shows(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    outputs = [out for cell in run(name, monkeypatch).cells for out in cell.get("outputs", ())]
    kinds = [
        kind
        for out in outputs
        for kind in ("text/html", "image/png")
        if kind in out.get("data", {})
    ]
    assert kinds == SHOWN[name]
    assert not [out for out in outputs if out.get("name") == "stderr"]


def test_notebooks_are_kept_without_output() -> None:
    nbformat = pytest.importorskip("nbformat", reason="nbformat is not installed")
    found = sorted(FOLDER.glob("*.ipynb"))
    assert [path.stem for path in found] == sorted(SHOWN)
    for path in found:
        assert not any(cell.get("outputs") for cell in nbformat.read(path, as_version=4).cells)
