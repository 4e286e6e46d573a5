"""A headless Chromium for tests of pages; tests are skipped with a reason where there is none."""

from __future__ import annotations

import json
import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

QUIET = (
    "--headless=new", "--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-sync",
    "--disable-background-networking", "--disable-component-update", "--hide-scrollbars",
    "--disable-dev-shm-usage",
)  # fmt: skip


def chromium() -> tuple[str, str]:
    """Paths of Chromium and its driver; skips where one is missing."""
    found = [shutil.which(name) for name in ("chromium", "chromedriver")]
    for name, path in zip(("chromium", "chromedriver"), found, strict=True):
        if path is None:
            pytest.skip(f"no {name} here; Debian: apt-get install chromium chromium-driver")
    return str(found[0]), str(found[1])


@contextmanager
def opened(
    page: Path, *, width: int = 1280, height: int = 900, dark: bool = False
) -> Iterator[Any]:
    """A browser window of a size, in light or dark, with the page in it."""
    webdriver = pytest.importorskip("selenium.webdriver", reason="selenium is not installed")
    binary, driver = chromium()
    options = webdriver.ChromeOptions()
    options.binary_location = binary
    for flag in QUIET:
        options.add_argument(flag)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    window = webdriver.Chrome(options=options, service=webdriver.ChromeService(driver))
    try:
        resize(window, width, height)
        scheme = {"name": "prefers-color-scheme", "value": "dark" if dark else "light"}
        window.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": [scheme]})
        window.get(page.as_uri())
        yield window
    finally:
        window.quit()


def resize(window: Any, width: int, height: int) -> None:
    """Give the page a size, narrower than a desktop window may be."""
    size = {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": False}
    window.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)


def errors(window: Any) -> list[str]:
    """What the console has to complain of."""
    return [line["message"] for line in window.get_log("browser") if line["level"] != "INFO"]


def requests(window: Any) -> list[str]:
    """Addresses that the page asked for since the window was opened."""
    told = [json.loads(line["message"])["message"] for line in window.get_log("performance")]
    sent = [m["params"] for m in told if m["method"] == "Network.requestWillBeSent"]
    return [params["request"]["url"] for params in sent]


def axe() -> str:
    """The text of axe-core; skips where it is not at hand. AXE_CORE names its folder."""
    folder = Path(os.environ.get("AXE_CORE", "node_modules/axe-core"))
    path = folder / "axe.min.js"
    if not path.is_file():
        pytest.skip(f"no axe-core in {folder}; npm install axe-core, or say AXE_CORE=folder")
    return path.read_text("utf-8")
