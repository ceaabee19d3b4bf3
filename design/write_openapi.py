"""Write the service's OpenAPI description to a file. Run: python design/write_openapi.py FILE."""

from __future__ import annotations

import json
import sys
import tempfile
from pathlib import Path

from coldfield.records.database import open_sqlite
from coldfield.records.folder import Folder
from coldfield.web.app import create_app


def description() -> str:
    """Return the description as JSON text."""
    with tempfile.TemporaryDirectory() as place:
        database = open_sqlite(Folder(Path(place)))
        try:
            return json.dumps(create_app(database).openapi(), indent=1)
        finally:
            database.close()


if __name__ == "__main__":
    Path(sys.argv[1]).write_text(description(), encoding="utf-8")
