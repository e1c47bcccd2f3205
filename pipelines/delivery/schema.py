"""The published JSON Schema of a record (2020-12), draft and signed: ``config/record.schema.json``.

Validate with format assertion switched on: by default the standard only annotates ``format``.
"""

import json
from importlib.resources import files
from typing import Any

FILE_NAME = "record.schema.json"


def schema_text() -> str:
    """The schema as it is published."""
    return (files("config") / FILE_NAME).read_text(encoding="utf-8")


def record_schema() -> dict[str, Any]:
    """The schema as data, for a validator."""
    data: dict[str, Any] = json.loads(schema_text())
    return data
