"""The page in a real browser: silent, alone, read by mouse and keyboard, in any width and light."""

from __future__ import annotations

import base64
import re
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from browser import axe, errors, opened, requests, resize

from hygro.page import report

WIDTHS = (360, 1024, 1920)
PAPERS = {"A4": (8.27, 11.69), "Letter": (8.5, 11.0)}
"""Inches, as the standards ISO 216 and ANSI give them."""


@pytest.fixture(scope="module")
def window(page: Path) -> Iterator[Any]:
    with opened(page) as found:
        yield found


def ready(window: Any, figure: str) -> Any:
    """Bring a figure into sight and wait until the script has drawn it."""
    from selenium.webdriver.common.by import By
    from selenium.webdriver.support.ui import WebDriverWait

    element = window.find_element(By.ID, figure)
    window.execute_script("arguments[0].scrollIntoView({block: 'center'})", element)
    WebDriverWait(window, 60).until(lambda _: element.get_attribute("data-ready") == "yes")
    return element


def part(element: Any, selector: str) -> Any:
    from selenium.webdriver.common.by import By

    return element.find_element(By.CSS_SELECTOR, selector)


def all_ready(window: Any) -> None:
    from selenium.webdriver.common.by import By

    for figure in window.find_elements(By.CSS_SELECTOR, "figure[data-kind]"):
        ready(window, figure.get_attribute("id"))


def test_the_console_is_silent_and_nothing_is_asked_of_the_network(window: Any, page: Path) -> None:
    all_ready(window)
    assert errors(window) == []
    asked = [url for url in requests(window) if not url.startswith("data:")]
    assert asked == [page.as_uri()]


def test_an_instant_is_picked_by_mouse_and_held_by_a_click(window: Any) -> None:
    """Two thirds across the map of a year is the end of August; a click holds it."""
    from selenium.webdriver.common.action_chains import ActionChains

    figure = ready(window, "map-1")
    canvas, said = part(figure, "canvas"), part(figure, "output")
    at_first = said.text
    across = int(canvas.size["width"] / 6)
    ActionChains(window).move_to_element_with_offset(canvas, across, 0).perform()
    hovered = said.text
    assert hovered != at_first
    assert re.match(r"2001-0[89]-\d\d \d\d h to \d\d h, depth \d+ mm, batt: \d+\.\d %", hovered)
    ActionChains(window).click(canvas).perform()
    held = said.text
    ActionChains(window).move_to_element_with_offset(canvas, -across, 0).perform()
    assert said.text == held
    ActionChains(window).click(canvas).perform()


def test_the_profile_follows_the_keys(window: Any) -> None:
    """The slider of the map is reached by tab and moved by arrows; the table follows."""
    from selenium.webdriver.common.keys import Keys

    figure = ready(window, "map-2")
    slider, said, rows = (part(figure, x) for x in ("input[type=range]", "output", "tbody"))
    slider.send_keys(Keys.HOME)
    first, table = said.text, rows.text
    assert first.startswith("2001-01-01 00 h")
    slider.send_keys(Keys.ARROW_RIGHT)
    assert said.text.startswith("2001-01-01 06 h")
    slider.send_keys(Keys.END)
    assert said.text.startswith("2001-12-31 18 h")
    assert rows.text != table
    assert slider.get_attribute("aria-valuetext") == said.text


def test_the_quantity_is_chosen_by_keys(window: Any) -> None:
    from selenium.webdriver.common.keys import Keys

    figure = ready(window, "map-2")
    part(figure, "input[value=relative_humidity]").send_keys(Keys.ARROW_RIGHT)
    assert part(figure, ".quantity").text == "Temperature, °C"
    part(figure, "input[value=temperature]").send_keys(Keys.ARROW_LEFT)
    assert part(figure, ".quantity").text == "Relative humidity, %"


def test_a_day_of_the_series_is_read_by_mouse_and_keys(window: Any) -> None:
    from selenium.webdriver.common.action_chains import ActionChains
    from selenium.webdriver.common.keys import Keys

    figure = ready(window, "series-1")
    slider, said = part(figure, "input[type=range]"), part(figure, "output")
    assert "2001-01-01" in part(figure, ".u-legend").text
    assert said.text.startswith("2001-01-01. Moisture content of the sheathing: ")
    slider.send_keys(Keys.ARROW_RIGHT)
    assert said.text.startswith("2001-01-02. ")
    ActionChains(window).move_to_element(part(figure, ".u-over")).perform()
    middle = said.text[:10]
    assert "2001-06-25" <= middle <= "2001-07-08"


def test_the_numbers_of_the_page_are_those_of_the_record(window: Any, results: Path) -> None:
    """Mean moisture content of the sheathing on a day, from the record itself."""
    from selenium.webdriver.common.keys import Keys

    import hygro

    ds = hygro.open_record(results / "plain-service.nc")
    content = 100.0 * ds.hygro.moisture_content("sheathing").values[1:25].mean()
    number = 1 if "1 plain" in window.find_element("id", "wall-1").text else 2
    figure = ready(window, f"series-{number}")
    part(figure, "input[type=range]").send_keys(Keys.HOME)
    assert f"sheathing: no leaks {content:.1f};" in part(figure, "output").text


@pytest.mark.parametrize("dark", [False, True])
def test_axe_finds_nothing_to_mend(page: Path, dark: bool) -> None:
    """Contrast of all text (at least 4.5), landmarks, names of figures and inputs, order of
    headings: the rules of WCAG 2.2 A and AA and the best practice of axe-core.
    """
    script = axe()
    with opened(page, dark=dark) as window:
        all_ready(window)
        window.execute_script(script)
        found = window.execute_async_script(
            "const done = arguments[0]; axe.run(document, {resultTypes: ['violations']})"
            ".then((r) => done(r.violations.map((v) => [v.id, v.nodes.length, v.nodes[0].html])))"
        )
    assert found == []


@pytest.mark.parametrize("dark", [False, True])
def test_words_in_drawings_have_contrast(page: Path, dark: bool) -> None:
    """At least 4.5 between each word of a drawing and the paper, by the formula of WCAG 2.2
    (relative luminance of sRGB, (L1 + 0.05)/(L2 + 0.05)); axe does not look into drawings.
    """
    with opened(page, dark=dark) as window:
        paper, fills = window.execute_script(
            "const of = (e, what) => getComputedStyle(e)[what];"
            "const words = document.querySelectorAll('svg.drawing text');"
            "return [of(document.body, 'backgroundColor'),"
            " [...new Set([...words].map((e) => of(e, 'fill')))]]"
        )
    assert fills
    for fill in fills:
        bright, dim = sorted((luminance(fill), luminance(paper)), reverse=True)
        assert (bright + 0.05) / (dim + 0.05) >= 4.5, (fill, paper)


def luminance(colour: str) -> float:
    """Relative luminance of `rgb(r, g, b)`, WCAG 2.2."""
    red, green, blue = (
        c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4
        for c in (int(part) / 255 for part in re.findall(r"\d+", colour)[:3])
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


@pytest.mark.parametrize("width", WIDTHS)
def test_nothing_sticks_out_of_the_window(page: Path, width: int) -> None:
    with opened(page, width=width) as window:
        all_ready(window)
        wide = window.execute_script("return document.documentElement.scrollWidth")
        assert wide <= width
        assert errors(window) == []


@pytest.mark.parametrize("width", [1200, 1280])
def test_no_table_is_cut_in_a_window_of_a_desktop(page: Path, width: int) -> None:
    script = (
        "return [...document.querySelectorAll('.scroll')].filter((e) => "
        "e.querySelector('table') && e.scrollWidth > e.clientWidth).map((e) => e.ariaLabel)"
    )
    with opened(page, width=width) as window:
        assert window.execute_script(script) == []


def test_the_depths_of_a_map_have_their_unit(window: Any) -> None:
    from selenium.webdriver.common.keys import Keys

    figure = ready(window, "map-1")
    window.execute_script(
        "window.written = []; const pen = CanvasRenderingContext2D.prototype.fillText;"
        "CanvasRenderingContext2D.prototype.fillText = function (...told) {"
        " window.written.push(told[0]); pen.apply(this, told); }"
    )
    part(figure, "input[type=range]").send_keys(Keys.ARROW_RIGHT)
    assert window.execute_script("return window.written").count("mm") == 2  # map and profile


@pytest.mark.parametrize("width", [1011, 1013, 1024, 1280])
def test_the_profile_stands_beside_the_map(page: Path, width: int) -> None:
    """In whatever fraction of a pixel the column ends."""
    from selenium.webdriver.common.by import By

    with opened(page, width=width) as window:
        figure = ready(window, "map-1")
        tops = {e.rect["y"] for e in figure.find_elements(By.CSS_SELECTOR, ".canvases canvas")}
        assert len(tops) == 1


@pytest.mark.parametrize("system", ["si", "ip"])
def test_no_word_of_a_drawing_lies_on_another(results: Path, tmp_path: Path, system: Any) -> None:
    """In the font of the browser, which is not the one that the labels were laid out with."""
    drawn = report(sorted(results.glob("*.nc")), out=tmp_path / "x.html", system=system)
    with opened(drawn, width=1920) as window:
        told = window.execute_script(OVERLAPS)
    assert told["words"] > 100
    assert told["pairs"] == []


OVERLAPS = """
const pairs = []; let words = 0;
for (const svg of document.querySelectorAll('svg.drawing')) {
  for (let e = svg; e; e = e.parentElement) if (e.matches('.fixed')) e.style.display = 'block';
  const told = [...svg.querySelectorAll('text')].filter((e) => e.textContent.trim());
  const boxes = told.map((e) => e.getBoundingClientRect());
  words += told.length;
  boxes.forEach((a, i) => boxes.slice(i + 1).forEach((b, j) => {
    const wide = Math.min(a.right, b.right) - Math.max(a.left, b.left);
    const high = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
    // a box has a margin above and below the ink
    if (wide > 1.5 && high > 2.5) pairs.push([told[i].textContent, told[i + 1 + j].textContent]);
  }));
}
return {words, pairs};
"""


def test_without_its_script_the_page_shows_drawings(page: Path) -> None:
    from selenium.webdriver.common.by import By

    with opened(page) as window:
        window.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": True})
        window.get(page.as_uri())
        figures = window.find_elements(By.CSS_SELECTOR, "figure[data-kind]")
        assert figures
        for figure in figures:
            assert part(figure, ".fixed svg").is_displayed()
            assert not part(figure, ".live").is_displayed()


def test_figures_are_drawn_anew_in_another_width(page: Path) -> None:
    with opened(page) as window:
        figure = ready(window, "map-1")
        wide = part(figure, "canvas").size["width"]
        resize(window, 700, 900)
        from selenium.webdriver.support.ui import WebDriverWait

        WebDriverWait(window, 60).until(lambda _: part(figure, "canvas").size["width"] < wide)
        assert part(figure, "canvas").size["width"] <= 700


@pytest.mark.parametrize("paper", PAPERS)
def test_paper_cuts_no_table(page: Path, paper: str, tmp_path: Path) -> None:
    """No word of a table lies beyond the right margin: the widest line ends within the paper."""
    pdftotext = shutil.which("pdftotext")
    if pdftotext is None:
        pytest.skip("no pdftotext here; Debian: apt-get install poppler-utils")
    wide, high = PAPERS[paper]
    with opened(page) as window:
        all_ready(window)
        told = window.execute_cdp_cmd(
            "Page.printToPDF", {"paperWidth": wide, "paperHeight": high, "preferCSSPageSize": False}
        )
    path = tmp_path / "page.pdf"
    path.write_bytes(base64.b64decode(told["data"]))
    done = subprocess.run(
        [pdftotext, "-bbox", str(path), "-"], capture_output=True, text=True, check=True
    )
    boxes = re.findall(r'<word xMin="([\d.-]+)".*?xMax="([\d.]+)".*?>(.*?)</word>', done.stdout)
    margin = 72 * 12 / 25.4  # 12 mm, as in the style sheet
    assert min(float(left) for left, _, _ in boxes) >= margin - 1
    assert max(float(right) for _, right, _ in boxes) <= 72 * wide - margin + 1
    words = {word for _, _, word in boxes}
    assert {"Verdict", "Mould", "batt", "SHA-256"} <= words
