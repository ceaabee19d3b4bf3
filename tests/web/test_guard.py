"""Who may send requests and how much, the headers of answers, and what the log leaves out."""

from __future__ import annotations

import logging
import re

import pytest
from starlette.testclient import TestClient

from coldfield.records.database import Database
from coldfield.web.guard import MOST_BODY_BYTES
from example_records import a_small_season


@pytest.mark.parametrize(
    "host",
    [
        *("evil.example", "evil.example:8457", "127.0.0.1.evil.example", "", "192.168.1.9"),
        *("user@127.0.0.1", "user@127.0.0.1:8457", "user:word@localhost", "127.0.0.1:8457@evil.example"),
        *("127.0.0.1:user@evil.example:80", "localhost:x", "localhost:", "localhost:99999", "localhost:-1"),
        *("127.0.0.1:80:80", "[::1", "::1", "[::1]x", "[::1]:", "localhost.", "127.0.0.1 ", " localhost x"),
        *("127.1", "2130706433", "0x7f.0.0.1", "127.0.0.1/", "127.0.0.1#", "localhost,evil.example"),
        *("http://127.0.0.1", "127.0.0.1\\@evil.example", "localhost:8457\t", "localhost:\u0663".encode()),
    ],
)
def test_contract_a_foreign_host_is_refused(client: TestClient, host: str | bytes) -> None:
    for path in ("/", "/api/people", "/api/openapi.json", "/nothing"):
        response = client.get(path, headers={"host": host})
        assert response.status_code == 421
        assert response.headers["content-type"] == "application/problem+json"


@pytest.mark.parametrize("host", ["127.0.0.1:8457", "localhost:9000", "[::1]:8457", "LOCALHOST"])
def test_contract_names_of_this_machine_are_taken(client: TestClient, host: str) -> None:
    assert client.get("/api/people", headers={"host": host}).status_code == 200


@pytest.mark.parametrize(
    "origin", ["http://evil.example", "null", "http://127.0.0.1:3000", "https://127.0.0.1:8457", ""]
)
@pytest.mark.parametrize("method", ["GET", "PUT", "DELETE", "OPTIONS"])
def test_contract_a_foreign_origin_is_refused(client: TestClient, origin: str, method: str) -> None:
    response = client.request(method, "/api/people/x", headers={"origin": origin})
    assert response.status_code == 403
    assert "access-control-allow-origin" not in response.headers


def test_contract_the_own_page_may_write(client: TestClient) -> None:
    own = {"origin": "http://127.0.0.1:8457", "sec-fetch-site": "same-origin"}
    assert client.put("/api/people/x", json={"name": "Noor"}, headers=own).status_code == 201


def test_contract_a_foreign_page_may_link_here_but_not_call(client: TestClient) -> None:
    link = {"sec-fetch-site": "cross-site", "sec-fetch-mode": "navigate"}
    assert client.get("/", headers=link).status_code == 200
    assert client.get("/api/people", headers=link).status_code == 403
    assert client.get("/", headers={"sec-fetch-site": "cross-site"}).status_code == 403


def test_contract_every_answer_carries_the_headers(client: TestClient) -> None:
    for path in ("/", "/plain.css", "/api/people", "/nothing"):
        headers = client.get(path).headers
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["referrer-policy"] == "no-referrer"
        policy = headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "frame-ancestors 'none'" in policy
        assert "unsafe" not in policy


def test_contract_the_plain_page_needs_nothing_its_policy_forbids(
    client: TestClient, database: Database
) -> None:
    page = client.get("/service").text
    assert database.place in page
    assert "style=" not in page
    assert re.findall(r"<script\b([^>]*)>(.*?)</script>", page) == [(' src="/plain.js" defer', "")]
    assert client.get("/plain.js").headers["content-type"].startswith("text/javascript")
    assert "http://" not in page
    assert client.get("/plain.css").headers["content-type"].startswith("text/css")


def test_contract_a_large_body_is_refused_by_its_length(client: TestClient) -> None:
    response = client.put("/api/people/x", content=b"x" * (MOST_BODY_BYTES + 1))
    assert response.status_code == 413


def test_contract_a_large_body_without_length_is_refused_while_it_comes(client: TestClient) -> None:
    def pieces() -> object:
        for _ in range(MOST_BODY_BYTES // 65536 + 2):
            yield b" " * 65536

    for path in ("/api/people/x", "/api/runs/r/tracks/t?file_name=a.gpx"):
        limit_holds = client.put(path, content=pieces(), headers={"content-type": "application/json"})
        assert limit_holds.status_code == (413 if "people" in path else 404)
        assert limit_holds.headers["content-type"] == "application/problem+json"


def test_contract_logs_hold_no_names_ids_or_places(
    client: TestClient,
    database: Database,
    caplog: pytest.LogCaptureFixture,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    a_small_season(database)
    caplog.set_level(logging.DEBUG)
    for name in [name for name in logging.root.manager.loggerDict if name.startswith("coldfield")]:
        # A command that ran in this process may have silenced them.
        monkeypatch.setattr(logging.getLogger(name), "disabled", False)
        monkeypatch.setattr(logging.getLogger(name), "propagate", True)
        caplog.set_level(logging.DEBUG, logger=name)
    client.put("/api/people/adaeze", json={"name": "Adaeze", "notes": "at 61.2001 8.1002"})
    client.put("/api/people/adaeze", json={"name": "Adaeze", "colour": "61.2001"})
    client.get("/api/people/adaeze/history")
    client.get("/api/kit", params={"owner_id": "adaeze"})
    client.get("/adaeze")
    ours = [record for record in caplog.records if not record.name.startswith(("httpx", "asyncio"))]
    text = "\n".join(record.getMessage() for record in ours)
    assert "PUT /api/people/{record_id} 201" in text
    assert "adaeze" not in text.lower()
    assert "61.2" not in text


def test_contract_an_inner_fault_is_a_problem_and_its_words_stay_out_of_the_log(
    client: TestClient, database: Database, caplog: pytest.LogCaptureFixture, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object, **__: object) -> None:
        raise RuntimeError("about Adaeze")

    monkeypatch.setattr("coldfield.app.records.reading.find", fail)
    response = client.get("/api/people/x")
    assert response.status_code == 500
    assert response.headers["content-type"] == "application/problem+json"
    assert "Adaeze" not in response.text + caplog.text
    assert "RuntimeError at" in caplog.text


@pytest.mark.parametrize(
    "name", ["a" * 3000, "%00", "%FF", "a%2Fb", "..%2Fapp.html", ".hidden", "%0ax", "a\\b", "%20"]
)
def test_contract_any_odd_address_is_not_found_in_words(client: TestClient, name: str) -> None:
    for place in ("/app/assets/", "/app/", "/", "/api/people/", "/debriefs/", "/api/tracks/"):
        response = client.get(place + name)
        assert response.status_code in (404, 422), place
        assert response.headers["content-type"] == "application/problem+json"
        assert len(response.text) < 1000


def test_contract_a_length_of_thousands_of_digits_is_refused(client: TestClient) -> None:
    response = client.put("/api/people/x", content=b"{}", headers={"content-length": "9" * 5000})
    assert response.status_code == 400
