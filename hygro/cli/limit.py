"""`hygro limit`: how far one number of a case may go."""

from __future__ import annotations

from typing import Annotated

import typer

from hygro.cli.options import CaseArgument, JsonOption, WallOption, print_json
from hygro.cli.running import only
from hygro.terminal import show


def limit(
    case: CaseArgument,
    path: Annotated[
        str, typer.Argument(help="Number to vary: 'wall.\"name\".leaks.rain.fraction'.")
    ],
    low: Annotated[str, typer.Option("--low", help="Lowest value tried, with its unit: '20 mm'.")],
    high: Annotated[str, typer.Option("--high", help="Highest value tried, in the same unit.")],
    wall: WallOption = None,
    within: Annotated[
        str | None, typer.Option("--within", help="Width at which an edge counts as found.")
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """Find the range of one number of a case in which a wall stays within its limits.

    Judged as `compare` judges: tight and with the leaks one by one, and all must pass. Eight
    values over the whole range first, then halving where the verdict turns. A plain number is in
    SI.
    """
    from hygro.case import judge_along, load, named_wall, prepare
    from hygro.study.limit import limit as find_limit
    from hygro.units import same_unit

    texts = [low, high] if within is None else [low, high, within]
    (first, last, *width), unit = same_unit(texts)
    loaded = load(case)
    name = wall or named_wall(loaded, path)
    name = only(loaded).name if name is None else loaded.wall(name).name
    ready, climate = prepare(loaded)
    judge = judge_along(ready, climate, name, path, unit=unit)
    found = find_limit(judge, first, last, within=width[0] if width else None)
    if as_json:
        print_json({"path": path, "unit": unit, "wall": name, **found.to_dict()})
    else:
        show(found.lines(f"{name}, {path}", unit))
