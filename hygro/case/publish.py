"""The JSON schema of the case file, for editors and scripts. Owns its heading."""

from __future__ import annotations

import json
from pathlib import Path

from hygro.case.file import CaseFile
from hygro.declare import adapter

PUBLISHED = Path(__file__).resolve().parent.parent / "case_schema.json"
"""The schema as it lies in the package; a test holds it to the models."""
TITLE = "Case file of hygro"


def schema_text() -> str:
    """Return the JSON schema of the case file as text."""
    schema = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **adapter(CaseFile).json_schema(mode="validation"),
        "title": TITLE,
    }
    return json.dumps(schema, indent=1, ensure_ascii=False) + "\n"
