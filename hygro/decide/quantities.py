"""What kind of quantity a place of a case holds, by the schema of its declarations."""

from __future__ import annotations

from hygro.decide.tree import Keys
from hygro.declare import adapter
from hygro.types import Data


def quantity_at(kind: object, keys: Keys) -> str:
    """Return the kind of quantity at a place, a name in `hygro.quantities.QUANTITIES`.

    Parameters
    ----------
    kind : type
        What is declared there: a class, or an annotated union of classes.
    keys : tuple
        Lead to the place.

    Returns
    -------
    str
        Empty where no number with a unit stands there, or where it might be one of several.
    """
    schema = adapter(kind).json_schema()
    rows = _parts(schema, schema)
    for key in keys:
        inner = [_inside(row, key) for row in rows]
        rows = [part for row in inner if row is not None for part in _parts(row, schema)]
    found = {row["x-quantity"] for row in rows if "x-quantity" in row}
    return found.pop() if len(found) == 1 else ""


def _parts(row: Data, schema: Data) -> list[Data]:
    """A part of a schema, and all that it may be instead, or is as well."""
    if "$ref" in row:
        row = schema["$defs"][row["$ref"].rsplit("/", 1)[1]]
    options = [part for of in ("anyOf", "oneOf", "allOf") for part in row.get(of, ())]
    return [row, *(part for option in options for part in _parts(option, schema))]


def _inside(row: Data, key: str | int) -> Data | None:
    """What a part of a schema has at a key or, of a list, at a number."""
    if isinstance(key, int):
        items = row.get("items")
        return items if isinstance(items, dict) else None
    found: Data | None = row.get("properties", {}).get(key)
    return found
