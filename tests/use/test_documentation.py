"""The site is built without a warning, and every link within it leads somewhere."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest
from blocks import ROOT

import hygro
import weather

pytestmark = [pytest.mark.slow, pytest.mark.xdist_group("site")]  # built once


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The pages, as the README says that they are made."""
    pytest.importorskip("sphinx", reason="Sphinx is not installed")
    out = tmp_path_factory.mktemp("site")
    command = [sys.executable, "-m", "sphinx", "-q", "-W", "--keep-going", "docs", str(out)]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return out


def text(page: Path) -> str:
    return page.read_text(encoding="utf-8")


def anchors(page: Path) -> set[str]:
    return set(re.findall(r'\bid="([^"]+)"', text(page)))


def test_every_link_within_the_site_leads_somewhere(site: Path) -> None:
    pages = {path.resolve(): anchors(path) for path in site.rglob("*.html")}
    lost = []
    for page in pages:
        for href in re.findall(r'\b(?:href|src)="([^"]+)"', text(page)):
            target, _, anchor = href.partition("#")
            if re.match(r"[a-z]+:", target) or href == "#":
                continue
            path = (page.parent / target.partition("?")[0]).resolve() if target else page
            known = pages.get(path)
            if not path.exists() or (anchor and known is not None and anchor not in known):
                lost.append(f"{page.name}: {href}")
    assert lost == []
    assert len(pages) > 25


def test_equations_have_the_numbers_of_the_code(site: Path) -> None:
    page = text(site / "numerics.html")
    label, number = r'id="equation-eq-(\d+)">', r'<span class="eqno">\((\d+)\)'
    found = re.findall(rf'{label}\s*<div class="math">{number}', page)
    assert found == [(str(n), str(n)) for n in range(1, 18)]
    assert page.count("<math") >= 17
    assert not re.search(r"<m[ion]>(&#x00026;|\\)", page)  # nothing that was not understood


def test_every_public_name_has_a_place(site: Path) -> None:
    for page, package in (("python", hygro), ("weather", weather)):
        ids = anchors(site / "reference" / f"{page}.html")
        assert {f"{package.__name__}.{name}" for name in package.__all__} <= ids


def test_every_question_has_its_figure(site: Path) -> None:
    shown = re.findall(r'src="_images/(\d+)\.png"', text(site / "how-to.html"))
    assert sorted(map(int, shown)) == list(range(1, 28))
    for number in shown:
        assert (site / "_images" / f"{number}.png").read_bytes().startswith(b"\x89PNG")
