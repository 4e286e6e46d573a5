"""What may happen to a file: bytes, lines and tokens changed by chance. Knows no format."""

from __future__ import annotations

import re
from collections.abc import Callable

from tests.fuzz.draw import Draw

HOSTILE = (
    "nan", "inf", "-inf", "-1", "0", "1e308", "-1e308", "1e-320", "1e999", "9" * 400, "9" * 5000,
    "", "-", "--", ".", "0x10", "1_0", "1,0", "99999999999999999999", "true", "null", "None",
    "'", '"', '"""', "\0", "\x1b[31m", "\u202e", "\N{SNOWMAN}", "é", "\ufeff", "a" * 70_000, "%s%n",
    "../../etc/passwd", "$(touch x)", "{{7*7}}", "__import__('os')", "[" * 3000, "{" * 3000,
    "a." * 3000,
    "\r", "\n", "\t", "#", ";", "=", ",", "2001-02-30", "24:00", "25:61", "-999", "9999",
)  # fmt: skip
"""Texts that readers trip over."""


def damaged(content: bytes, draw: Draw) -> bytes:
    """The content after one to four accidents."""
    for _ in range(draw.of([1, 1, 1, 2, 4])):
        content = draw.of(ACCIDENTS)(content, draw)
    return content


def _at(content: bytes, draw: Draw) -> int:
    """A place; the beginning, where formats are told, comes up more often."""
    most = min(len(content), 400) if draw.chance(0.3) else len(content)
    return draw.count(0, max(most - 1, 0))


def flip(content: bytes, draw: Draw) -> bytes:
    """One to eight bits turned round."""
    found = bytearray(content or b"\0")
    for _ in range(draw.of([1, 1, 8])):
        found[_at(content, draw)] ^= 1 << draw.count(0, 7)
    return bytes(found)


def cut(content: bytes, draw: Draw) -> bytes:
    """The end is missing."""
    return content[: _at(content, draw)]


def hole(content: bytes, draw: Draw) -> bytes:
    """Some bytes are missing in the middle."""
    at = _at(content, draw)
    return content[:at] + content[at + draw.of([1, 10, 1000]) :]


def noise(content: bytes, draw: Draw) -> bytes:
    """Some bytes are random, in the place of others or between them."""
    at, size = _at(content, draw), draw.of([1, 4, 64])
    kept = at + size if draw.chance(0.5) else at
    return content[:at] + draw.rng.bytes(size) + content[kept:]


def zeros(content: bytes, draw: Draw) -> bytes:
    """A block of zeros, as a disk leaves it that lost power."""
    at, size = _at(content, draw), draw.of([1, 512, 4096])
    return content[:at] + bytes(size) + content[at + size :]


def _lines(content: bytes, draw: Draw, change: Callable[[list[bytes], int], object]) -> bytes:
    lines = content.split(b"\n")
    change(lines, min(draw.count(0, len(lines) - 1), draw.of([12, 60, len(lines) - 1])))
    return b"\n".join(lines)


def without_line(content: bytes, draw: Draw) -> bytes:
    """A line is missing."""
    return _lines(content, draw, lambda lines, k: lines.pop(k))


def line_twice(content: bytes, draw: Draw) -> bytes:
    """A line stands twice, or very often."""
    times = draw.of([1, 1, 1000])

    def repeat(lines: list[bytes], k: int) -> None:
        lines[k:k] = [lines[k]] * times

    return _lines(content, draw, repeat)


def swapped_lines(content: bytes, draw: Draw) -> bytes:
    """Two lines stand in each other's place."""

    def swap(lines: list[bytes], k: int) -> None:
        other = draw.count(0, len(lines) - 1)
        lines[k], lines[other] = lines[other], lines[k]

    return _lines(content, draw, swap)


def token(content: bytes, draw: Draw) -> bytes:
    """A word or number is replaced by one that readers trip over."""
    words = list(re.finditer(rb"[\w.+-]+", content[: draw.of([1500, 20_000, len(content)])]))
    if not words:
        return content
    word = draw.of(words)
    return content[: word.start()] + draw.of(HOSTILE).encode() + content[word.end() :]


def inserted(content: bytes, draw: Draw) -> bytes:
    """A hostile text stands between."""
    at = _at(content, draw)
    return content[:at] + draw.of(HOSTILE).encode() + content[at:]


def recoded(content: bytes, draw: Draw) -> bytes:
    """Other line ends or another alphabet."""
    text = content.decode("latin-1")
    ways: list[Callable[[], bytes]] = [
        lambda: text.replace("\n", "\r\n").encode("latin-1"),
        lambda: text.replace("\n", "\r").encode("latin-1"),
        lambda: text.encode("utf-16"),
        lambda: text.encode("utf-8-sig"),
        lambda: content + content,
        lambda: b"",
        lambda: text.replace(",", ";").encode("latin-1"),
        lambda: text.replace(".", ",").encode("latin-1"),
    ]
    return draw.of(ways)()


ACCIDENTS = (
    flip, cut, hole, noise, zeros, without_line, line_twice, swapped_lines, token, token, token,
    inserted, recoded,
)  # fmt: skip
