"""What an installation consists of: `python .ci/sbom.py [--table]`.

Prints a software bill of materials (CycloneDX 1.5, JSON) of the package and of all that it needs at
run time, as installed in the environment of this Python; or a Markdown table of names and licences.
"""

from __future__ import annotations

import json
import re
import sys
import tomllib
from collections.abc import Iterable, Iterator
from importlib.metadata import Distribution, PackageNotFoundError, distribution
from pathlib import Path
from typing import Any

PROJECT = Path(__file__).parents[1] / "pyproject.toml"
UNKNOWN = "not stated"
SHORT = 60
"""Characters of a licence field from which it is a text, not a name."""


def name_of(requirement: str) -> str:
    """Normalised name of a requirement as packages write it."""
    found = re.match(r"[A-Za-z0-9._-]+", requirement)
    assert found, requirement
    return re.sub(r"[-_.]+", "-", found.group()).lower()


def needed(requirements: Iterable[str]) -> dict[str, Distribution]:
    """Installed packages that are reached from some requirements, extras left out."""
    found: dict[str, Distribution] = {}
    waiting = [name_of(text) for text in requirements if "extra ==" not in text]
    while waiting:
        name = waiting.pop()
        if name in found:
            continue
        try:
            found[name] = distribution(name)
        except PackageNotFoundError:  # for another platform or version of Python
            continue
        more = found[name].requires or []
        waiting += [name_of(text) for text in more if "extra ==" not in text]
    return dict(sorted(found.items()))


def licence(package: Distribution) -> str:
    """What a package says of its licence: expression, short text, or classifiers."""
    told = package.metadata
    text = told.get("License-Expression") or told.get("License") or ""
    if text.strip() and len(text) < SHORT and "\n" not in text:
        return text.strip()
    classifiers = told.get_all("Classifier") or []
    names = [c.rsplit(" :: ", 1)[1] for c in classifiers if c.startswith("License ::")]
    return ", ".join(names) or UNKNOWN


def project() -> dict[str, Any]:
    """The table of the project in its own file."""
    return tomllib.loads(PROJECT.read_text(encoding="utf-8"))["project"]


def component(name: str, package: Distribution) -> dict[str, Any]:
    """A package in the words of CycloneDX."""
    told: dict[str, Any] = {
        "type": "library",
        "bom-ref": f"pkg:pypi/{name}@{package.version}",
        "name": name,
        "version": package.version,
        "purl": f"pkg:pypi/{name}@{package.version}",
    }
    if (text := licence(package)) != UNKNOWN:
        told["licenses"] = [{"license": {"name": text}}]
    return told


def bill() -> dict[str, Any]:
    """The bill of materials of the project in this environment."""
    mine, packages = project(), needed(project()["dependencies"])
    ref = {name: f"pkg:pypi/{name}@{p.version}" for name, p in packages.items()}
    own = f"pkg:pypi/{mine['name']}@{mine['version']}"

    def reached(texts: Iterable[str]) -> list[str]:
        return sorted({ref[n] for n in map(name_of, texts) if n in ref})

    def plain(texts: Iterable[str] | None) -> Iterator[str]:
        return (text for text in texts or () if "extra ==" not in text)

    edges = [{"ref": own, "dependsOn": reached(mine["dependencies"])}]
    edges += [
        {"ref": ref[name], "dependsOn": reached(plain(p.requires))} for name, p in packages.items()
    ]
    return {
        "bomFormat": "CycloneDX",
        "specVersion": "1.5",
        "version": 1,
        "metadata": {
            "component": {
                "type": "application", "bom-ref": own, "name": mine["name"], "purl": own,
                "version": mine["version"],
                "licenses": [{"license": {"id": mine["license"]["text"]}}],
            }
        },
        "components": [component(*item) for item in packages.items()],
        "dependencies": edges,
    }  # fmt: skip


def table() -> str:
    """Names and licences as a Markdown table; versions are those of the environment."""
    direct = {name_of(text) for text in project()["dependencies"]}
    rows = [
        f"| {name} | {'named by hygro' if name in direct else 'needed by those'} | {licence(p)} |"
        for name, p in needed(project()["dependencies"]).items()
    ]
    return "\n".join(["| package | why | licence as it states it |", "|---|---|---|", *rows])


if __name__ == "__main__":
    sys.stdout.write((table() if "--table" in sys.argv else json.dumps(bill(), indent=1)) + "\n")
