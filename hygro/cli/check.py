"""`hygro check`: a case looked through without a run."""

from __future__ import annotations

import typer

from hygro.cli.errors import BAD_INPUT
from hygro.cli.options import CaseArgument, JsonOption, Units, UnitsOption, print_json
from hygro.terminal import show


def check(case: CaseArgument, units: UnitsOption = Units.si, as_json: JsonOption = False) -> None:
    """Tell what is wrong or unusual about a case, without running it; code 2 if it cannot run."""
    from hygro.case import load, prepare, review
    from hygro.show import report
    from hygro.show import review as shown

    ready, climate = prepare(load(case))
    found = review(ready, climate)
    if as_json:
        hands = {name: vars(hand) | {"rows": [r._asdict() for r in hand.rows]}
                 for name, hand in found.hands.items()}  # fmt: skip
        print_json({
            "case": ready.name, "zone": found.zone,
            "remarks": [remark._asdict() for remark in found.remarks],
            "walls": hands, "sheets": [sheet._asdict() for sheet in found.sheets],
        })  # fmt: skip
    else:
        show([f"{ready.name}: thermal zone {found.zone}"])
        told = (found.remarks, found.hands, found.sheets)
        show(shown.pieces(*told, system=units.value))
        show(report.cautions(climate.attrs, ()))
    if any(remark.level == "wrong" for remark in found.remarks):
        raise typer.Exit(BAD_INPUT)
