"""Where the numbers come from: versions, hashes, files."""

from __future__ import annotations

import json

from hygro.page.subject import Section, Subject
from hygro.types import Data

HASHES = {
    "case_sha256": "case",
    "wall_sha256": "wall",
    "loads_sha256": "loads",
    "climate_source_sha256": "weather",
}


def origin(subject: Subject) -> Section:
    """Return the section."""
    records = subject.records()
    versions = dict.fromkeys(str(attrs.get("versions", "{}")) for _, attrs in records)
    data: Data = {
        "versions": [
            ", ".join(f"{name} {number}" for name, number in json.loads(text).items())
            for text in versions
        ],
        "records": [
            (name, [(words, str(attrs[key])) for key, words in HASHES.items() if attrs.get(key)])
            for name, attrs in records
        ],
    }
    return Section("origin", "Versions and hashes", "origin.html", data, ("versions", "hashes"))
