"""Write the forms of the day file's lines as an OpenAPI document, for the phone's types.

Run: python design/write_day_types.py FILE.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

from coldfield.files.day_file import day_schema


def description() -> str:
    """Return the description as JSON text."""
    schemas = json.loads(json.dumps(day_schema()).replace("#/$defs/", "#/components/schemas/"))
    return json.dumps(
        {
            "openapi": "3.1.0",
            "info": {"title": "Lines of the day file", "version": "1"},
            "paths": {},
            "components": {"schemas": schemas},
        },
        indent=1,
    )


if __name__ == "__main__":
    Path(sys.argv[1]).write_text(description(), encoding="utf-8")
