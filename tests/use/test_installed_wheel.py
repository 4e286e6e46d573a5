"""The wheel, installed for a user who can write nowhere but where results go."""

from __future__ import annotations

import os
import shutil
import stat
import subprocess
import sys
import sysconfig
from pathlib import Path

import pytest
from case_files import write_case

ROOT = Path(__file__).parents[2]
QUICK = ('accuracy = "draft"', 'accuracy = "draft"\ntolerance = 10\nrepeat = "once"')
NOBODY = 65534

pytestmark = pytest.mark.slow


def said(*words: str | Path, **more: object) -> str:
    done = subprocess.run(
        list(map(str, words)), capture_output=True, text=True, check=False, timeout=900, **more
    )
    assert done.returncode == 0, done.stdout[-2000:] + done.stderr[-2000:]
    return done.stdout + done.stderr


@pytest.fixture(scope="module")
def installed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder `bin` with the commands of the wheel; its dependencies are those of the tests."""
    folder = tmp_path_factory.mktemp("wheel")
    source = folder / "source"
    skipped = shutil.ignore_patterns(".git", "__pycache__", ".*_cache", "results", "*.egg-info")
    shutil.copytree(ROOT, source, ignore=skipped)
    said(sys.executable, "-m", "pip", "wheel", "-q", "--no-deps", "-w", folder, source)
    (wheel,) = folder.glob("hygro-*.whl")
    said(sys.executable, "-m", "venv", folder / "venv")
    python = folder / "venv/bin/python"
    said(python, "-m", "pip", "install", "-q", "--no-deps", wheel)
    shutil.rmtree(source)
    site = said(python, "-c", "import sysconfig; print(sysconfig.get_path('purelib'))").strip()
    # its own packages come first, so that the wheel is what is found
    Path(site, "others.pth").write_text(sysconfig.get_path("purelib") + "\n", encoding="utf-8")
    return folder / "venv/bin"


def lock(folder: Path) -> None:
    """Take the right to write from a folder and all in it, and let everybody read."""
    for path in (folder, *folder.rglob("*")):
        if not path.is_symlink():
            mode = path.stat().st_mode
            path.chmod((mode | stat.S_IRUSR | 0o044 | (0o011 if mode & 0o100 else 0)) & ~0o222)


def unprivileged(probe: Path) -> list[str]:
    """Words before a command that make file modes count, which they do not for root."""
    if os.geteuid() != 0:
        return []
    if shutil.which("setpriv") is None:
        pytest.skip("root may write everywhere, and there is no setpriv")
    user = ["setpriv", f"--reuid={NOBODY}", f"--regid={NOBODY}", "--clear-groups"]
    # the same user without the right to pass over modes, where others may not run this Python
    same = ["setpriv", "--bounding-set=-dac_override,-dac_read_search"]
    for words in (user, same):
        done = subprocess.run(
            [*words, str(probe), "-c", "import numpy, os; print(os.access(os.devnull, os.R_OK))"],
            capture_output=True, text=True, check=False,
        )  # fmt: skip
        if done.returncode == 0:
            return words
    pytest.skip("no way to give up the rights of root")


def test_the_wheel_works_where_only_the_results_may_be_written(
    installed: Path, tmp_path: Path
) -> None:
    home, here, out = (tmp_path / name for name in ("home", "case", "out"))
    for folder in (home, here, out, tmp_path / "scratch"):
        folder.mkdir()
    case = write_case(here, QUICK)
    for path in (tmp_path, *tmp_path.parents):
        if path.owner() == Path.home().owner() and path != Path(path.anchor):
            path.chmod(path.stat().st_mode | 0o055)
    for folder in (home, here, installed.parent):
        lock(folder)
    for free in (out, tmp_path / "scratch"):
        free.chmod(0o777)
    words = unprivileged(installed / "python")
    kept = {k: v for k, v in os.environ.items() if k not in ("PYTHONPATH", "NUMBA_CACHE_DIR")}
    where = {**kept, "HOME": str(home), "TMPDIR": str(tmp_path / "scratch")}
    where.pop("XDG_CACHE_HOME", None)
    more = {"env": where, "cwd": here}
    python = installed / "python"
    place = said(*words, python, "-c", "import hygro; print(hygro.__file__)", **more)
    assert Path(place.strip()).is_relative_to(installed.parent), "not the wheel"
    refused = subprocess.run([*words, str(python), "-c", f"open({str(home / 'x')!r}, 'w')"],
                             capture_output=True, check=False)  # fmt: skip
    assert refused.returncode != 0, "the home can be written, so this test shows nothing"

    told = said(*words, installed / "hygro", "compare", case, "--out", out / "new",
                "--processes", "1", **more)  # fmt: skip
    assert "1 plain" in told
    assert "Traceback" not in told
    names = {path.name for path in (out / "new").iterdir()}
    assert {"plain.nc", "leaky-rain.nc", "comparison.csv", "comparison.png"} <= names
    assert sorted(p.name for p in here.iterdir()) == ["case.toml", "town.csv"]
    assert list(home.iterdir()) == []
    for folder in (home, here, installed.parent):  # so that it can be removed
        for path in (folder, *folder.rglob("*")):
            if not path.is_symlink():
                path.chmod(path.stat().st_mode | 0o200)
