"""The page itself: sections in their order, script and style inside, written in one move."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from functools import cache
from html import escape
from importlib.resources import files
from pathlib import Path

import xarray as xr
from jinja2 import Environment, PackageLoader, StrictUndefined

from hygro.atomic import write_text
from hygro.decide.study import SUFFIX, Study
from hygro.errors import InputError, file_path, must_be
from hygro.kinds import Kind, marked
from hygro.page import live
from hygro.page.gather import Criteria, Gathered, gather
from hygro.page.sections import sections_of
from hygro.page.studies import is_store, studies_of
from hygro.page.subject import Subject
from hygro.page.wording import SHORT
from hygro.record.provenance import versions
from hygro.study.certainty import Certainty
from hygro.study.compare import Comparison
from hygro.study.rank import ranked
from hygro.study.reserve import Reserve
from hygro.types import Data, Plain
from hygro.units import System, check_system

Source = xr.Dataset | Study | str | Path
"""A record or a study, or the file it is in."""
SCRIPTS = ("uPlot.iife.min.js", "pack.js", "series.js", "map.js", "page.js")
STYLES = ("uPlot.min.css", "page.css")


def report(
    found: Comparison | Source | Iterable[Source],
    *,
    out: str | Path,
    studies: Iterable[Study | str | Path] = (),
    criteria: Criteria | None = None,
    checks: Mapping[str, Sequence[Certainty]] | None = None,
    reserves: Mapping[str, Reserve] | None = None,
    failed: Sequence[str] = (),
    system: System = "si",
) -> Path:
    """Write one self-contained HTML page on some runs and return its path.

    Parameters
    ----------
    found : Comparison, record, study, or several
        Records, or result files, of one wall or several: tight and with leaks, of service and of
        closing in, in any order. A comparison whose runs were saved to files. Studies, or stores
        of them, alone or among records.
    out : path
        File of the page.
    studies : iterable of Study or path, optional
        Studies, or stores of them, that get a section beside the walls.
    criteria : sequence of Criterion or function, or the name of a rule set, optional
        Judge by these. Left out: those of the case that each record holds; a case's own criteria
        are not run from a record.
    checks : mapping, optional
        By wall: what finer runs changed (`hygro.study.certainty`).
    reserves : mapping, optional
        By wall: how much more it bears (`hygro.study.reserve`). Default: those of the comparison.
    failed : sequence of str
        Runs that could not be done, and why.
    system : {"si", "ip"}
        Units of the page.

    Raises
    ------
    InputError
        A comparison without files, a record shorter than a year, a page that cannot be written, or
        another file in its place.
    RecordError
        No record, a file that is none, or two of one run.
    """
    check_system(system)
    for name, mapping in (("checks", checks), ("reserves", reserves)):
        must_be(mapping, (Mapping, type(None)), name, "a dict by the names of walls")
    must_be(studies, Iterable, "studies", "studies, or their files")
    must_be(failed, Iterable, "failed", "a list of texts")
    bears = reserves or {}
    if isinstance(found, Comparison) and reserves is None:
        bears = {item.name: item.reserve for item in found.walls if item.reserve is not None}
    records, stores = _sources(found)
    shown = studies_of([*stores, *studies])
    gathered = gather(records, criteria) if records or not shown else Gathered((), {})
    walls = [replace(item, reserve=bears.get(item.name)) for item in gathered.walls]
    subject = Subject(replace(gathered, walls=ranked(walls)), checks or {}, failed, system, shown)
    path = file_path(out, "out")
    write_text(path, html(subject), page_of(subject.cases))
    return path


def page_of(cases: str) -> Kind:
    """Return the kind of the pages on some cases, by their names; empty: on walls without one."""
    words = "a page of this program" + (f" on '{cases}'" if cases else " without a case")
    return marked(words, _made_by(cases))


def _made_by(cases: str) -> str:
    return f'<meta name="generator" content="{escape(f"hygro: {cases}")}">'


def _sources(found: Plain) -> tuple[list[Path | xr.Dataset], list[Study | Path]]:
    """Return the records, and the studies, of what a page is to be made of."""
    if isinstance(found, Comparison):
        runs = [outcome.run for item in found.walls for outcome in item.outcomes]
        if any(run.file is None for run in runs):
            raise InputError(
                "report: the runs of this comparison were not saved; give records or their files "
                "(hygro.simulate, hygro.save, or hygro compare CASE --out DIR)"
            )
        kept = [path for run in runs for path in (run.file, run.service_file)]
        return [path for path in kept if path is not None and path.is_file()], []
    if isinstance(found, Source):
        found = [found]
    must_be(found, Iterable, "report", "a comparison, records or studies, or their files")
    given = [Path(item) if isinstance(item, str) else item for item in found]
    stores = [item for item in given if isinstance(item, Study) or _is_store(item)]
    return [item for item in given if item not in stores], stores


def _is_store(item: Plain) -> bool:
    return isinstance(item, Path) and (item.suffix == SUFFIX or is_store(item))


def html(subject: Subject) -> str:
    """Return the page as text; the same records give the same letters."""
    sections = sections_of(subject)
    return _template("page.html").render(
        made_by=_made_by(subject.cases),
        title=subject.title,
        circumstances=subject.circumstances,
        first=sections[0].key,
        version=versions()["hygro"],
        sections=[(s, _template(s.template).render(s.data)) for s in sections],
        style="\n".join(_asset(name) for name in STYLES),
        script="\n".join(_asset(name) for name in SCRIPTS),
        licence=_asset("uPlot.LICENSE.txt"),
        data=_data(subject),
    )


def _data(subject: Subject) -> str:
    """Numbers for the script; nothing in them can end its element."""
    series: Data = {}
    maps: Data = {}
    for item in subject.walls:
        key = f"w{subject.number(item)}"
        series[key] = live.series([(SHORT[o.run.scenario], o.trace) for o in item.outcomes])
        closing = subject.closing(item)
        if closing is not None:
            series[f"{key}c"] = live.series([(SHORT[item.deciding.run.scenario], closing.trace)])
        maps[key] = live.field_map(subject.shown(item).field, system=subject.system)
    told = json.dumps({"series": series, "map": maps}, ensure_ascii=False, separators=(",", ":"))
    return told.replace("</", "<\\/")


@cache
def _environment() -> Environment:
    return Environment(
        loader=PackageLoader("hygro.page"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def _template(name: str) -> Plain:
    return _environment().get_template(name)


def _asset(name: str) -> str:
    return (files("hygro.page") / "assets" / name).read_text("utf-8")
