"""Walls on a graphics card, as `benchmarks.card` and `card_studies` recorded them."""

from __future__ import annotations

from measured.files import read, table

_ORDERS = {"alike": "walls that march alike side by side", "mixed": "in random order"}


def speed() -> str:
    """Wall-years a second by wall, number and order."""
    head = ["wall", "cells", "walls", "order", "wall-years/s", "with transfers",
            "iterations an hour", "ns per cell and iteration"]  # fmt: skip
    rows = [
        [x["wall"], str(x["cells"]), str(x["walls"]), _ORDERS[x["order"]],
         f"{x['years_per_s']:.0f}", f"{x['with_transfers']:.0f}", f"{x['turns_per_hour']:.2f}",
         f"{x['ns_per_cell_turn']:.2f}"]
        for x in read("gpu")["speed"]
    ]  # fmt: skip
    return table(head, rows)


def agreement() -> str:
    """Largest differences from the processor, and closures."""
    head = ["wall", "walls", "hours", "r.m.s. of T [K]", "r.m.s. of rh", "other steps", "closure"]
    rows = [
        [x["wall"], str(x["walls"]), str(x["hours"]), f"{x['rms_T']:.1e}", f"{x['rms_rh']:.1e}",
         str(x["other_steps"]), f"{x['closure']:.1e}"]
        for x in read("gpu")["agreement"]
    ]  # fmt: skip
    return table(head, rows)


def processor() -> str:
    """Wall-years a second of a process on the processor beside the card."""
    low, high = (f(read("gpu")["processor"].values()) for f in (min, max))
    return f"{low:.0f} to {high:.0f} wall-years/s"


def copies() -> str:
    """What it takes to have whole results here."""
    x = read("gpu")["copies"]
    rate = x["GB"] / x["copied_s"]
    return (
        f"Whole results of {x['walls']} framed walls over {x['hours']} h, {x['GB']:.1f} GB, came "
        f"back in {x['copied_s']:.2f} s ({rate:.0f} GB/s); the march took {x['marched_s']:.1f} s, "
        f"and laying them where each wall has its own {x['rest_s']:.1f} s"
    )


def together() -> str:
    """Wall-years a second of one card and of more."""
    found = read("gpu_cards")
    rows = [
        f"{x['cards']} card{'s' if x['cards'] > 1 else ''} {x['years_per_s']:.0f}"
        for x in found["speed"]
    ]
    first, last = found["speed"][0], found["speed"][-1]
    times = last["years_per_s"] / first["years_per_s"]
    return f"{', '.join(rows)} wall-years/s ({times:.2f} times; {found['card']})"


def made() -> str:
    """What it was made on."""
    found = read("gpu")
    packages = {**found["versions"], **found["packages"]}
    versions = ", ".join(f"{name} {version}" for name, version in packages.items())
    return f"{found['card']}, {found['machine']}, {versions}"


def random_walls() -> str:
    """What random walls gave on the card and on the processor, in sentences."""
    x = read("gpu_studies")["random"]
    counts = (
        f"{x['walls']} walls of {x['structures']} structures over {x['hours']} h: "
        f"{x['other_verdict']} with another verdict, {x['stopped']} that stop, "
        f"{x['other_findings']} with another place or side of a limit in a finding, "
        f"{x['other_steps']} with other steps"
    )
    sizes = (
        f"The largest r.m.s. is {x['rms_T']:.1e} K and {x['rms_rh']:.1e} in rh, the largest "
        f"difference {x['max_T']:.3f} K; closures are at most {x['closure']:.1e}"
    )
    years = x["walls"] * x["hours"] / 8760
    took = f"They took {x['seconds']:.0f} s, {years / x['seconds']:.1f} wall-years a second"
    return f"{counts}. {sizes}. {took}"
