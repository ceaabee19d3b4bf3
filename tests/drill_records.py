"""Drills in the records of a served site, for tests that need their own drill."""

from __future__ import annotations

import json
import urllib.request
from copy import deepcopy
from typing import Any
from uuid import uuid4

from example_records import DRILL


def asked(site: str, path: str, body: dict[str, Any] | None = None, method: str = "PUT") -> Any:
    """Read an address of the API, or send something to it, by default a record."""
    request = urllib.request.Request(
        f"{site}/api/{path}",
        data=None if body is None else json.dumps(body).encode(),
        method="GET" if body is None else method,
        headers={"content-type": "application/json"},
    )
    with urllib.request.urlopen(request, timeout=20) as answer:
        return json.load(answer)


def new_drill(site: str, /, **changes: Any) -> str:
    """Keep a new drill; returns its id."""
    drill_id = uuid4().hex
    asked(site, f"drills/{drill_id}", {"document": {**deepcopy(DRILL), **changes}})
    return drill_id


def stored(site: str, drill_id: str) -> dict[str, Any]:
    """Return a drill's current record."""
    record: dict[str, Any] = asked(site, f"drills/{drill_id}")
    return record
