"""The checks of `hygro validate --json`, and the expectations of the forty walls."""

from __future__ import annotations

from collections import Counter
from typing import Any

from measured.files import read, table


def judged() -> list[dict[str, Any]]:
    """Return the checks that passed or failed, without those that are shown alone."""
    return [check for check in read("validation")["checks"] if check["passed"] is not None]


def nearest() -> str:
    """Return the check nearest its bound of every case."""
    by_case: dict[str, list[Any]] = {}
    for check in judged():
        by_case.setdefault(check["case"], []).append(check)
    rows = []
    for case, checks in by_case.items():
        bound = [c for c in checks if c["bound"] is not None and c["error"] is not None]
        if bound:
            near = max(bound, key=lambda c: c["error"] / c["bound"] if c["bound"] else 0.0)
            unit = "" if near["error_unit"] == "1" else near["error_unit"]
            reference = f"{near['source']}: {near['provenance']}".replace("|", "\\|")
            rows.append([
                case, near["quantity"].replace("|", "\\|"), f"{near['error']:.2g} {unit}".strip(),
                f"{near['bound']:.3g} {unit}".strip(), reference, str(len(checks)),
            ])  # fmt: skip
    head = ["case", "check nearest its bound", "our error", "bound", "reference", "checks"]
    return table(head, rows)


def cases() -> str:
    """Return how many cases there are."""
    return str(len({check["case"] for check in read("validation")["checks"]}))


def forty(key: str) -> str:
    """Walls, expectations, and expectations met."""
    return str(read("forty_walls")[key])


def count(status: str) -> str:
    """Return how many checks ended so."""
    return str(read("validation")["counts"][status])


def order(what: str) -> str:
    """Observed order on manufactured fields, the lowest of the two unknowns."""
    found = [c["ours"] for c in read("validation")["checks"] if f"order in {what}" in c["quantity"]]
    return f"{min(found):.1f}"


def kinds() -> str:
    """Return how many checks each kind of reference has, in its exact words."""
    return table(["reference is", "checks"], [[kind, str(count)] for kind, count in counted()])


def kinds_in_a_line() -> str:
    """The same in a sentence."""
    return "; ".join(f"{kind} {count}" for kind, count in counted())


def counted() -> list[tuple[str, int]]:
    """Checks by the kind of their reference, the most first."""
    found = Counter(check["provenance"] for check in judged() if check["provenance"])
    return found.most_common()


def directions() -> str:
    """Return how many checks have no reference: they ask for a direction between two runs."""
    return str(sum(check["provenance"] is None for check in judged()))
