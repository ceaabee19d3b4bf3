"""In the hut nothing can be read without the passphrase, and guessers have to wait."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator

import pytest
from fastapi import FastAPI
from starlette.routing import Route
from starlette.testclient import TestClient

from coldfield.app.hut.budget import MOST_REMEMBERED, Budget
from coldfield.app.hut.entrance import SESSION_S, Entered, Entrance, KeptOut
from coldfield.errors import BadInput
from coldfield.records.database import Database
from coldfield.web.hut.gate import OPEN
from coldfield.web.problems import MEDIA_TYPE, _flat
from example_records import a_small_season
from huts import CHEAP, HERE, PASSPHRASE, Clock, enter, hut_client


@pytest.fixture
def app(database: Database, app_on: Callable[[Database], FastAPI]) -> FastAPI:
    a_small_season(database)
    return app_on(database)


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def hut(app: FastAPI, clock: Clock) -> Iterator[TestClient]:
    with hut_client(app, clock=clock) as client:
        yield client


def operations(app: FastAPI) -> set[tuple[str, str]]:
    """Every method and address of the service, from its OpenAPI description and from its routes."""
    told = {
        (method.upper(), path)
        for path, ways in app.openapi()["paths"].items()
        for method in ways
        if method in ("get", "put", "post", "delete", "patch")
    }
    routes = [route for route in _flat(app.routes) if isinstance(route, Route) or hasattr(route, "methods")]
    there = {(method, str(getattr(route, "path", ""))) for route in routes for method in route.methods or ()}
    assert told <= there
    assert len(there) > 150
    return there


def test_contract_nothing_is_read_without_the_passphrase(hut: TestClient, app: FastAPI) -> None:
    read = set()
    for method, path in operations(app):
        at = re.sub(r"\{\w+(:\w+)?\}", "fan", path)
        for accept in ("*/*", "text/html"):
            answer = hut.request(method, at, headers={"accept": accept})
            refused = answer.status_code == 401 and answer.headers["content-type"] == MEDIA_TYPE
            sent_away = answer.status_code == 303 and answer.headers["location"].startswith("/login")
            if refused or sent_away:
                assert "fan" not in answer.text
            else:
                read.add((method, path))
    assert read == OPEN & operations(app)
    for lost in ("/nothing", "/api/nothing", "/app/assets/x.js", "/..%2f", "//x", "/login/", "/clock/x"):
        assert hut.get(lost).status_code == 401
    for method in ("HEAD", "OPTIONS", "PATCH", "TRACE", "CONNECT"):
        assert hut.request(method, "/clock").status_code == 401


def test_contract_what_is_open_tells_nothing_of_the_records(hut: TestClient, database: Database) -> None:
    for method, path in OPEN:
        answer = hut.request(method, path)
        for word in ("Two on the lower fan", "Noor", "Ines", database.place):
            assert word not in answer.text, path
    assert "Coldfield in the hut" in hut.get("/login").text
    assert "others on this network can read the passphrase" in hut.get("/login").text
    assert "Andere in diesem Netz" in hut.get("/login", headers={"accept-language": "de"}).text


def test_contract_the_passphrase_opens_the_app_until_one_leaves_or_the_day_is_over(
    hut: TestClient, clock: Clock
) -> None:
    assert hut.get("/service", headers={"accept": "text/html"}).headers["location"] == "/login?to=/service"
    answer = hut.post("/login", data={"passphrase": PASSPHRASE, "to": "/service"})
    assert (answer.status_code, answer.headers["location"]) == (303, "/service")
    for cookie in answer.headers.get_list("set-cookie"):
        assert "HttpOnly" in cookie
        assert "SameSite=strict" in cookie
        assert "Secure" not in cookie
    assert hut.get("/api/people").status_code == 200
    assert hut.get("/service").status_code == 200
    clock.now_s += SESSION_S + 1
    assert hut.get("/api/people").status_code == 401
    assert enter(hut) == 303
    assert hut.post("/logout").status_code == 303
    assert hut.get("/api/people").status_code == 401


@pytest.mark.parametrize(
    "to", ["//evil.example", "/\\evil.example", "https://evil.example", "javascript:1", "/ x"]
)
def test_contract_nobody_is_sent_elsewhere_after_the_passphrase(hut: TestClient, to: str) -> None:
    assert hut.post("/login", data={"passphrase": PASSPHRASE, "to": to}).headers["location"] == "/"
    assert "evil" not in hut.get("/login", params={"to": to}).text


def test_contract_over_tls_the_cookies_go_over_tls_alone(app: FastAPI) -> None:
    with hut_client(app, secret=True) as client:
        answer = client.post("/login", data={"passphrase": PASSPHRASE})
        assert all("Secure" in cookie for cookie in answer.headers.get_list("set-cookie"))
        assert "others on this network" not in client.get("/login").text
        assert "cross-origin-opener-policy" in client.get("/login").headers


@pytest.mark.parametrize(
    "cookie", ["", "x", "coldfield_session=", "coldfield_session=x; coldfield_session=y", "\x01"]
)
def test_contract_a_made_up_session_opens_nothing(hut: TestClient, cookie: str) -> None:
    assert hut.get("/api/people", headers={"cookie": cookie}).status_code == 401


@pytest.mark.parametrize(
    "host",
    ["127.0.0.1:8457", "localhost:8457", "192.168.7.20", "192.168.7.20:80", "192.168.7.21:8457", "evil.example:8457",
     "192.168.7.20.evil.example:8457", "user@192.168.7.20:8457", "", "192.168.7.20:99999"],
)  # fmt: skip
def test_contract_a_foreign_host_is_refused_in_the_hut(hut: TestClient, host: str) -> None:
    for path in ("/login", "/clock", "/api/people"):
        assert hut.get(path, headers={"host": host}).status_code == 421


def test_contract_a_foreign_page_is_refused_in_the_hut(hut: TestClient) -> None:
    for origin in ("http://evil.example", "null", "http://127.0.0.1:8457", f"https://{HERE}"):
        answer = hut.post("/login", data={"passphrase": PASSPHRASE}, headers={"origin": origin})
        assert answer.status_code == 403
        assert "set-cookie" not in answer.headers
    assert (
        hut.post("/login", data={"passphrase": PASSPHRASE}, headers={"origin": f"http://{HERE}"}).status_code
        == 303
    )


def test_contract_who_guesses_waits_and_others_do_not(app: FastAPI, clock: Clock) -> None:
    with hut_client(app, clock=clock) as instructor, hut_client(app, clock=clock) as guesser:
        guesser.app.hut = instructor.app.hut  # type: ignore[attr-defined]
        assert enter(instructor) == 303
        assert [enter(guesser, f"guess number {k}") for k in range(9)] == [403] * 8 + [429]
        # The right one is not checked either, so that a guesser learns nothing while having to wait.
        assert enter(guesser) == 429
        assert int(guesser.post("/login", data={"passphrase": "x"}).headers["retry-after"]) <= 30
        # At the same address, logged-in people stay logged in, and a browser that was in before can log in
        # again.
        assert instructor.get("/api/people").status_code == 200
        instructor.post("/logout")
        assert enter(instructor) == 303
        clock.now_s += 31
        assert enter(guesser) == 303


def test_contract_another_address_is_not_held_up_by_a_guesser(clock: Clock) -> None:
    entrance = Entrance(PASSPHRASE, clock=clock, hasher=CHEAP)
    for _ in range(8):
        assert entrance.enter("a wrong passphrase", address="192.168.7.66") == KeptOut(0.0)
    assert isinstance(entrance.enter(PASSPHRASE, address="192.168.7.66"), KeptOut)
    assert isinstance(entrance.enter(PASSPHRASE, address="192.168.7.67"), Entered)


@pytest.mark.parametrize("passphrase", ["", "short", "x" * 201])
def test_contract_a_passphrase_has_some_length(passphrase: str, clock: Clock) -> None:
    with pytest.raises(BadInput, match="10 to 200"):
        Entrance(passphrase, clock=clock)


def test_contract_a_budget_comes_back_with_time_and_remembers_only_so_many(clock: Clock) -> None:
    budget = Budget(most=3, every_s=10.0, clock=clock)
    assert [budget.spend("a") for _ in range(4)] == [0.0, 0.0, 0.0, 10.0]
    assert budget.spend("b") == 0.0
    clock.now_s += 4.0
    assert budget.spend("a") == pytest.approx(6.0)
    clock.now_s += 6.0
    assert [budget.spend("a"), budget.spend("a")] == [0.0, 10.0]
    budget.give_back("a")
    assert budget.spend("a") == 0.0
    for k in range(2 * MOST_REMEMBERED):
        budget.spend(f"address {k}")
    assert len(budget._spent) <= MOST_REMEMBERED
