"""The service returns each sheet with the data from the records."""

from __future__ import annotations

import json
from pathlib import Path

from starlette.testclient import TestClient

from paper_pages import words_of


def test_contract_the_service_gives_each_sheet(client: TestClient, demo_files: Path) -> None:
    drill = json.loads((demo_files / "drill.json").read_text())
    assert client.put("/api/drills/d1", json={"document": drill}).status_code == 201
    assert client.put("/api/courses/c1", json={"name": "Winter course"}).status_code == 201
    assert client.put("/api/people/p1", json={"name": "Noor"}).status_code == 201
    told = {"course_id": "c1", "person_id": "p1"}
    assert client.put("/api/participants/m1", json=told).status_code == 201
    assert (
        client.put("/api/kit/k1", json={"kind": "set", "label": "HL-07", "state": "to check"}).status_code
        == 201
    )
    asked = {
        "/drills/d1/setup.pdf": drill["name"],
        "/courses/c1/record.pdf": "Noor",
        "/kit.pdf?language=de": "HL-07",
        "/check-sheet.pdf?drill=d1": "Ines",
        "/check-sheet.pdf?course=c1": "Noor",
        "/check-sheet.pdf": "Group check",
    }
    for address, words in asked.items():
        answer = client.get(address)
        assert answer.status_code == 200, (address, answer.text[:300])
        assert answer.headers["content-type"] == "application/pdf"
        assert words in words_of(answer.content), address
    page = client.get("/drills/d1/setup.html")
    assert page.headers["content-type"].startswith("text/html")
    # It has inline styles: the service's policy must allow them, but no script.
    policy = page.headers["content-security-policy"]
    assert "style-src 'unsafe-inline'" in policy
    assert "script-src" not in policy
    assert "prefers-color-scheme:dark" in page.text
    assert client.get("/drills/none/setup.pdf").status_code == 404
    assert client.get("/kit.pdf?language=xx").status_code == 422
