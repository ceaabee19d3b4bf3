"""The page about the service names every address there is, and no other."""

from __future__ import annotations

import re
from pathlib import Path

from starlette.testclient import TestClient

from coldfield.records.kinds import KINDS

PAGE = Path(__file__).parents[2] / "docs" / "service.md"


def test_contract_every_address_stands_on_the_page_about_the_service(client: TestClient) -> None:
    told = set(re.findall(r"^\| `([A-Z]+ /api/[^`]+)` \|", PAGE.read_text(), re.MULTILINE))
    there = set()
    for path, operations in client.get("/api/openapi.json").json()["paths"].items():
        _, _, kind, *rest = path.split("/")
        name, dot, ending = kind.partition(".")
        whole = name in KINDS and rest in ([], ["{record_id}"], ["{record_id}", "file"])
        address = "/".join(["/api/{kind}" + dot + ending, *rest]) if whole else path
        there |= {f"{method.upper()} {address}" for method in operations}
    assert told == there
