"""Drills in the records of a served site, for tests that work on one of their own."""

from __future__ import annotations

import json
import urllib.request
from copy import deepcopy
from typing import Any
from uuid import uuid4

from example_records import DRILL


def asked(site: str, path: str, body: dict[str, Any] | None = None, method: str = "PUT") -> Any:
    """Read an address of the API, or send something to it: a record, if nothing else is said."""
    request = urllib.request.Request(
        f"{site}/api/{path}",
        data=None if body is None else json.dumps(body).encode(),
        method="GET" if body is None else method,
        headers={"content-type": "application/json"},
    )
    with urllib.request.urlopen(request, timeout=20) as answer:
        return json.load(answer)


def new_drill(site: str, /, **changes: Any) -> str:
    """Keep a drill of one's own; gives its id."""
    drill_id = uuid4().hex
    asked(site, f"drills/{drill_id}", {"document": {**deepcopy(DRILL), **changes}})
    return drill_id


def stored(site: str, drill_id: str) -> dict[str, Any]:
    """Return a drill's record as it is kept now."""
    record: dict[str, Any] = asked(site, f"drills/{drill_id}")
    return record
