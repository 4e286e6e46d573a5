"""Damaged and hostile files, read by the commands as typed: done, or one clear error. No faults.

A command may end with 0 or with 2 and a few lines "error: …" of at most 300 characters; it leaves
nothing behind, prints no traceback and takes no memory or time to speak of.
"""

from __future__ import annotations

import contextlib
import os
import re
import shutil
import sqlite3
import tempfile
import time
from pathlib import Path
from typing import Any

import netCDF4
import numpy as np
from typer.testing import CliRunner, Result

from hygro.cli import app
from hygro.problems import LONGEST, MOST_LINES
from hygro.record.seal import MARK, seal
from tests.fuzz.draw import Draw
from tests.fuzz.mutate_bytes import HOSTILE, damaged
from tests.fuzz.mutate_toml import turned
from tests.fuzz.subjects import SUBJECTS, Subject

SECONDS = 30.0
"""Longer than any of these commands may take; the slowest sound one takes 2. [s]"""
Told = dict[str, Any]


def tried(seed: int, kind: str, number: int, sound: Path) -> Told:
    """Damage a file of a kind, type a command on it, and say what does not hold."""
    draw = Draw(seed, kind, number)
    subject = draw.of(SUBJECTS[kind])
    with tempfile.TemporaryDirectory(prefix="fuzz-") as name, _inside(Path(name)):
        here = Path(name)
        for other in subject.among:
            shutil.copy(sound / other, here)
        shutil.copy(sound / subject.name, here)
        how = _damage(here / subject.name, subject, draw)
        before, command = set(os.listdir(here)), draw.of(subject.commands)
        began = time.thread_time()
        with contextlib.redirect_stdout(None):
            answer = CliRunner().invoke(app, list(command))
        spent = time.thread_time() - began
        left = {x for x in set(os.listdir(here)) - before if not x.startswith("one.study")}
        faults = answer_faults(answer)
        if left - {"out.nc"}:
            faults.append(f"left behind: {sorted(left)[:5]}")
        if spent > SECONDS:
            faults.append(f"took {spent:.0f} s")
    told = {"what": f"{subject.name}, {how}", "code": answer.exit_code, "seconds": spent}
    return {**told, "faults": faults}


@contextlib.contextmanager
def _inside(folder: Path):
    """Work in a folder, with what is temporary there too, and lines as long as they come."""
    kept, there = tempfile.tempdir, Path.cwd()
    os.chdir(folder)
    tempfile.tempdir = str(folder)
    try:
        yield
    finally:
        tempfile.tempdir = kept
        os.chdir(there)


def answer_faults(answer: Result) -> list[str]:
    """What is wrong with the answer of a command."""
    lines = answer.stderr.splitlines()
    first = lines[-1][:300] if lines else ""
    faults = []
    if answer.exit_code not in (0, 2, 3):
        faults.append(f"exit code {answer.exit_code}: {first or repr(answer.exception)[:300]}")
    if answer.exit_code == 2 and not (lines or answer.stdout):
        faults.append("code 2 without a word")
    if "Traceback" in answer.output:
        faults.append("a traceback")
    if "memory ran out" in answer.stderr:
        faults.append("memory ran out")
    if any(re.search(r"\.py:\d+: \w*Warning", line) for line in lines):
        faults.append(f"a warning of a library: {first}")
    if answer.exit_code == 2 and lines and not any(x.startswith("error: ") for x in lines):
        faults.append(f"a line that is no error: {first}")
    long = [line for line in lines if len(line) > LONGEST + len("error: ")]
    if long:
        faults.append(f"a line of {len(long[0])} characters: {long[0][:300]}")
    if len(lines) > 2 * MOST_LINES + 2:
        faults.append(f"{len(lines)} lines")
    return faults


def _damage(file: Path, subject: Subject, draw: Draw) -> str:
    """Damage a file in one of the ways that its format knows; says in which."""
    ways = {".toml": ("bytes", "tables", "tables"), ".study": ("bytes", "cells", "cells")}
    ways[".nc"] = ("bytes", "variables", "variables")
    if subject.name == "wall.nc":
        ways[".nc"] = ("bytes", "sealed bytes", "variables", "variables")
    way = draw.of(ways.get(file.suffix, ("bytes",)))
    content = file.read_bytes()
    if way == "bytes":
        file.write_bytes(damaged(content, draw))
    elif way == "sealed bytes":
        file.write_bytes(damaged(content[: -len(MARK) - 64], draw))
        seal(file)
    elif way == "tables":
        file.write_text(turned(content.decode(), draw), encoding="utf-8")
    elif way == "cells":
        _change_store(file, draw)
    else:
        _change_netcdf(file, draw)
        if subject.name == "wall.nc":
            seal(file)
    return way


def _change_store(file: Path, draw: Draw) -> None:
    """Values, tables, triggers and views of an SQLite file."""
    texts = ("", "{}", "[]", "nan", '{"a": NaN}', *HOSTILE[:20])
    values = (None, 0, -1, 10**18, 1e308, b"\0\xff", *texts)
    with contextlib.closing(sqlite3.connect(file)) as base, base:
        tables = [n for (n,) in base.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
        table = draw.of(tables)
        columns = [row[1] for row in base.execute(f"PRAGMA table_info({table})")]
        column = draw.of(columns)
        way = draw.of(["value"] * 6 + ["drop", "rename", "column", "trigger", "view", "version"])
        with contextlib.suppress(sqlite3.IntegrityError):
            if way == "value":
                base.execute(f"UPDATE {table} SET {column} = ?", (draw.of(values),))
            elif way == "drop":
                base.execute(f"DROP TABLE {table}")
            elif way == "rename":
                base.execute(f"ALTER TABLE {table} RENAME TO other")
            elif way == "column":
                base.execute(f"ALTER TABLE {table} RENAME COLUMN {column} TO other")
            elif way == "trigger":
                base.execute(
                    f"CREATE TRIGGER t AFTER DELETE ON claim BEGIN DELETE FROM {table}; END"
                )
            elif way == "view":
                base.execute(f"DROP TABLE {table}")
                base.execute(
                    f"CREATE VIEW {table} AS WITH RECURSIVE c(x) AS "
                    f"(SELECT 1 UNION ALL SELECT x + 1 FROM c) SELECT x AS {column} FROM c"
                )
            else:
                base.execute("UPDATE about SET value = ?", (draw.of(values) or "",))


def _change_netcdf(file: Path, draw: Draw) -> None:
    """Attributes and values of a netCDF file."""
    attributes = ("", "x", 0, -1, float("nan"), 10**15, "{}", "[]", "null", *HOSTILE[:40])
    with netCDF4.Dataset(file, "a") as opened:
        name = draw.of(sorted(opened.variables))
        variable = opened.variables[name]
        way = draw.of(["global", "global", "attribute", "value", "value", "all", "rename", "lost"])
        holder = opened if way in ("global", "lost") else variable
        known = sorted(holder.ncattrs()) or ["title"]
        key = draw.of(known)
        if way in ("global", "attribute"):
            with contextlib.suppress(RuntimeError, AttributeError, UnicodeError):
                value = draw.of(attributes)
                holder.setncattr(key, value if value != "" else " ")
        elif way == "lost":
            opened.delncattr(draw.of(sorted(opened.ncattrs())))
        elif way == "rename":
            opened.renameVariable(name, draw.of(["x", "temperature2", "T"]))
        elif variable.dtype is not str and variable.size:
            number = draw.of([np.nan, np.inf, -1e9, 0.0, 1e300, -50.0])
            variable.set_auto_maskandscale(False)
            if variable.dtype.kind in "iu":
                number = draw.of([0, -1, 2**31 - 1])
            if way == "all" or not variable.ndim:
                variable[...] = number
            else:
                place = tuple(draw.count(0, n - 1) for n in variable.shape)
                variable[place] = number
