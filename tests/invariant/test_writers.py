"""Whatever writes a file that is kept goes through one helper; read from the sources."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import hygro
import weather

ROOT = Path(hygro.__file__).parents[1]
PACKAGES = (Path(hygro.__file__).parent, Path(weather.__file__).parent)
WRITES = {"write_text", "write_bytes", "to_netcdf", "to_zarr", "savefig", "to_csv", "savez", "dump"}
MOVERS = {"os.replace", "os.rename", "os.link", "shutil.copy", "shutil.copyfile", "shutil.move"}
HELPERS = {"replacing", "appearing"}
ELSEWHERE = {
    "hygro/atomic.py": "the helper",
    "hygro/cli/errors.py": "the log of a fault, in the folder of temporary files",
    "hygro/decide/runner.py": "weather for workers, in a temporary folder",
    "hygro/record/seal.py": "seals what the helper then moves",
    "hygro/record/stream.py": "a result that grows in a folder of its own, moved by the helper",
    "hygro/show/style.py": "to memory",
    "hygro/show/svg.py": "to memory",
    "weather/kept.py": "made again where it is torn; its package does not see the helper",
}
"""Files that write without it, and why that is right."""


def writes(tree: ast.AST, helped: bool = False) -> Iterator[ast.Call]:
    """Calls that write a file outside a block of the helper."""
    for node in ast.iter_child_nodes(tree):
        inside = helped
        if isinstance(node, ast.With):
            calls = [item.context_expr for item in node.items]
            names = {c.func.id for c in calls if isinstance(c, ast.Call) and hasattr(c.func, "id")}
            inside = helped or bool(names & HELPERS)
        if isinstance(node, ast.Call) and not helped and _writes(node):
            yield node
        yield from writes(node, inside)


def _writes(call: ast.Call) -> bool:
    name = call.func.attr if isinstance(call.func, ast.Attribute) else getattr(call.func, "id", "")
    if isinstance(call.func, ast.Name):  # write_text of the helper, say
        return name == "open" and _mode(call)
    opens = name in ("open", "Dataset", "fdopen") and _mode(call)
    target = len(call.args) == 1 and not call.keywords  # a text takes two, a declaration keys
    moves = name == "rename" or (name == "replace" and target)
    return opens or moves or name in WRITES or ast.unparse(call.func) in MOVERS


def _mode(call: ast.Call) -> bool:
    values = [*call.args, *(k.value for k in call.keywords)]
    texts = [v.value for v in values if isinstance(v, ast.Constant) and isinstance(v.value, str)]
    return any(set(text) <= set("rwaxbt+") and set(text) & set("wax+") for text in texts)


def test_all_that_is_kept_is_written_by_one_helper() -> None:
    found: dict[str, list[int]] = {}
    for package in PACKAGES:
        for file in sorted(package.rglob("*.py")):
            for call in writes(ast.parse(file.read_text(encoding="utf-8"))):
                found.setdefault(file.relative_to(ROOT).as_posix(), []).append(call.lineno)
    others = {name: lines for name, lines in found.items() if name not in ELSEWHERE}
    assert others == {}
    assert set(ELSEWHERE) == set(found), "a file of the list writes nothing any more"
