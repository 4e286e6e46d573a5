"""Walls on a graphics card, as `benchmarks.card`, `card_walls` and `card_maps` recorded them."""

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
    walls = f"{first['walls']} framed walls on each over {found['hours']} h"
    return f"{walls}: {', '.join(rows)} wall-years/s ({times:.2f} times; {found['card']})"


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
    outcomes = ", ".join(f"{count} '{name}'" for name, count in x["outcomes"].items())
    sizes = (
        f"The largest r.m.s. is {x['rms_T']:.1e} K and {x['rms_rh']:.1e} in rh, the largest "
        f"difference {x['max_T']:.3f} K"
    )
    return f"{counts}. The verdicts: {outcomes}. {sizes}"


def random_phases() -> str:
    """What the phases took."""
    found = read("gpu_studies")
    x, cores = found["random"], found["cores"]
    s, years = x["seconds"], x["walls"] * x["hours"] / 8760
    return (
        f"Drawing and laying grids took {s['drawn']:.0f} s on {cores} cores, marching and rating "
        f"there {s['processor']:.0f} s, reading what was laid {s['read']:.0f} s, the card "
        f"{s['card']:.0f} s ({years / s['card']:.0f} wall-years a second), rating and comparing "
        f"{s['compared']:.0f} s on the cores; compiling for both {s['compiled']:.0f} s before"
    )


def maps() -> str:
    """Maps on the processor and on a card."""
    found = read("gpu_map")
    kinds = {"sharp": "along its line, 1 % sharp", "full": "every point of a grid"}
    marches = {
        "cpu": f"{found['cores']} cores march and rate",
        "gpu": f"the card marches, {found['cores']} cores rate",
    }
    rows = [
        [kinds[kind], marches[x["device"]], str(x["points"]), str(x["runs"]),
         f"{x['years']:.0f}", f"{x['seconds']:.0f} s"]
        for kind in kinds
        for x in found[kind]["maps"]
    ]  # fmt: skip
    return table(["map", "what marches", "points", "runs", "wall-years", "time"], rows)


def same_maps() -> str:
    """How far the maps of both agree."""
    found = [read("gpu_map")[kind] for kind in ("sharp", "full")]
    points, other = (sum(x[key] for x in found) for key in ("same_points", "other_verdicts"))
    return f"Of {points} points that both tried {other} have another verdict or reason for it"


def maps_made() -> str:
    """What the maps were made on."""
    found = read("gpu_map")
    return f"{found['made']}, {found['card']}"


def studies_made() -> str:
    """What the random walls were made on."""
    found = read("gpu_studies")
    return f"{found['made']}, {found['card']}"
