"""Arguments that a declared class has from its base, told with its own."""

from __future__ import annotations

import inspect

from sphinx.application import Sphinx

from hygro.describe import meanings, section

UNDERLINE = "----"


def setup(app: Sphinx) -> dict[str, bool]:
    """Complete docstrings before they are read as sections."""
    app.connect("autodoc-process-docstring", complete, priority=400)
    return {"parallel_read_safe": True}


def complete(
    app: Sphinx, what: str, name: str, obj: object, options: object, lines: list[str]
) -> None:
    """Add the inherited arguments of a declared class behind its own "Parameters"."""
    if not (inspect.isclass(obj) and hasattr(obj, "__pydantic_fields__")):
        return
    heads = [line for line in section(obj, "Parameters").splitlines() if line[:1].strip()]
    own = {name.strip() for head in heads for name in head.partition(" : ")[0].split(",")}
    rest = {key: said for key, said in meanings(obj).items() if key not in own}
    if rest and "Parameters" in lines:
        first = lines.index("Parameters") + 2
        later = (k - 1 for k in range(first, len(lines)) if lines[k].startswith(UNDERLINE))
        end = next(later, len(lines))
        while not lines[end - 1].strip():
            end -= 1
        lines[end:end] = [line for key, said in rest.items() for line in (key, f"    {said}")]
