"""What the security page says is so: nothing is executed, dependencies are told."""

from __future__ import annotations

import ast
import json
import subprocess
import sys
import tomllib
from pathlib import Path

import hygro
import weather

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs/security.md").read_text(encoding="utf-8")
RUNS = {
    "eval", "exec", "compile", "__import__", "os.system", "os.popen", "pickle.load", "pickle.loads",
    "marshal.loads", "runpy.run_path", "subprocess.run", "subprocess.Popen", "yaml.load",
    "socket.socket", "urllib.request.urlopen", "import_module", "importlib.import_module",
}  # fmt: skip
OWN = {
    "hygro/__init__.py", "weather/__init__.py", "hygro/homes.py", "hygro/wall/wall.py",
    "hygro/assess/accessor.py", "hygro/proof/run.py", "hygro/proof/twin.py",
    "hygro/proof/inputs.py", "hygro/proof/surroundings.py",
}  # fmt: skip
"""Files that import modules of the package or its extras, named in the file, when first used."""
KNOWN = {
    ("hygro/assess/choose.py", "importlib.import_module"): "criteria of one's own",
    ("hygro/decide/work.py", "pickle.loads"): "weather from the process that started this one",
}
"""Other calls that run something, and why that is right."""


def test_nothing_that_is_read_is_executed() -> None:
    found = set()
    for package in (hygro, weather):
        for file in Path(package.__file__).parent.rglob("*.py"):
            for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
                if isinstance(node, ast.Call) and ast.unparse(node.func) in RUNS:
                    name = file.relative_to(ROOT).as_posix()
                    found.add((name, ast.unparse(node.func)))
    own = {item for item in found if item[0] in OWN and item[1].endswith("import_module")}
    assert found - own == set(KNOWN)


def test_no_package_opens_a_connection() -> None:
    asked = {"urllib", "http", "requests", "ftplib", "smtplib", "asyncio"}
    for package in (hygro, weather):
        for file in Path(package.__file__).parent.rglob("*.py"):
            for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
                names = [a.name for a in node.names] if isinstance(node, ast.Import) else []
                names += [node.module or ""] if isinstance(node, ast.ImportFrom) else []
                assert not asked & {name.split(".")[0] for name in names}, file


def test_every_dependency_has_its_licence_on_the_page() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    rows = {line.split("|")[1].strip(): line for line in PAGE.splitlines() if line.startswith("| ")}
    for text in project["dependencies"]:
        name = text.split(">")[0].split("<")[0].lower()
        assert "named by hygro" in rows[name], name
    assert not any("not stated" in line for line in rows.values())


def test_the_bill_of_materials_is_whole() -> None:
    """The fields that CycloneDX 1.5 asks for, each reference to something that is listed."""
    done = subprocess.run(
        [sys.executable, str(ROOT / ".ci/sbom.py")], capture_output=True, text=True, check=True
    )
    bill = json.loads(done.stdout)
    assert (bill["bomFormat"], bill["specVersion"], bill["version"]) == ("CycloneDX", "1.5", 1)
    mine = bill["metadata"]["component"]
    assert (mine["name"], mine["licenses"]) == ("hygro", [{"license": {"id": "MIT"}}])
    by_ref = {c["bom-ref"]: c for c in bill["components"]}
    assert len(by_ref) == len(bill["components"])
    assert all(c["purl"] == f"pkg:pypi/{c['name']}@{c['version']}" for c in by_ref.values())
    edges = {edge["ref"]: edge["dependsOn"] for edge in bill["dependencies"]}
    assert set(edges) == {*by_ref, mine["bom-ref"]}
    assert all(set(refs) <= set(by_ref) for refs in edges.values())
    names = {c["name"] for c in by_ref.values()}
    assert {"numpy", "netcdf4", "llvmlite", "cftime"} <= names  # named, and needed by those
    assert "pytest" not in names  # tests are no part of an installation
    reached, waiting = set(), [mine["bom-ref"]]
    while waiting:
        ref = waiting.pop()
        reached.add(ref)
        waiting += [x for x in edges[ref] if x not in reached]
    assert reached == set(edges)
