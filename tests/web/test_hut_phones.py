"""With a code of a run, phones add to that run only, each item once, and can read nothing."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from datetime import datetime, timedelta
from typing import Any

import pytest
from fastapi import FastAPI
from sqlalchemy import select
from starlette.testclient import TestClient

from coldfield.app.day.take import take_day_file
from coldfield.files.day_file import write_day_file
from coldfield.files.day_model import ITEMS, HeadLine, ItemLine, PhoneLine, RunLine
from coldfield.files.run_code import read_run_code
from coldfield.records import schema
from coldfield.records.database import Database
from example_records import GPX as A_GPX
from example_records import a_small_season, dump
from huts import HERE, enter, hut_client

GPX = A_GPX + b"\n"
START_MS = 1_771_061_400_000
HEAD = HeadLine(made_by="an example", made_ms=START_MS)
PHONE = PhoneLine(id="phone-of-ines", name="Larch", keeper="Ines")


def item(n: int, kind: str, at_s: float, of: str = "run-1", phone: str = PHONE.id, **told: Any) -> ItemLine:
    at_ms = round(at_s * 1000)
    stamp = {"id": f"{of}-{phone}-{n}", "phone": phone, "n": n, "of": of, "page": "page"}
    return ITEMS[kind].model_validate({**stamp, "wall_ms": START_MS + at_ms, "since_page_ms": 1e6, **told})


def a_run(of: str = "run-1", phone: str = PHONE.id) -> list[ItemLine]:
    return [
        item(1, "alarm", 0, of, phone),
        item(2, "split", 60, of, phone, split="first_signal", burial="A"),
        item(3, "seen", 80, of, phone, about="leader_named", seen=True),
        item(4, "split", 200, of, phone, split="probe_strike", burial="A", searcher="s1"),
        item(5, "split", 300, of, phone, split="airway_clear", burial="A"),
    ]


def written(items: list[ItemLine], phone: PhoneLine = PHONE, runs: tuple[RunLine, ...] = ()) -> bytes:
    return write_day_file(head=HEAD, phones=[phone], runs=runs, items=items)


@pytest.fixture
def app(database: Database, app_on: Callable[[Database], FastAPI]) -> FastAPI:
    a_small_season(database)
    return app_on(database)


@pytest.fixture
def hut(app: FastAPI) -> Iterator[TestClient]:
    """The instructor's browser, logged in."""
    with hut_client(app) as client:
        assert enter(client) == 303
        yield client


@pytest.fixture
def phone(app: FastAPI) -> Iterator[TestClient]:
    with hut_client(app) as client:
        yield client


def made(hut: TestClient, run: str = "run-1", may: str = "keeper") -> dict[str, Any]:
    answer = hut.post(f"/api/runs/{run}/phone-codes", json={"may": may})
    assert answer.status_code == 201, answer.text
    return dict(answer.json())


def send(phone: TestClient, code: str, content: bytes, as_phone: str = PHONE.id) -> Any:
    headers = {"x-coldfield-code": code, "x-coldfield-phone": as_phone, "content-type": "text/plain"}
    return phone.post("/api/hut/day", content=content, headers=headers)


def long_code(code: dict[str, Any]) -> str:
    return str(code["address"]).partition("#hut/")[2].split("/")[1]


def test_contract_a_keepers_code_adds_to_its_run_once_and_reads_nothing(
    hut: TestClient, phone: TestClient, database: Database
) -> None:
    code = made(hut)
    assert code["picture"]["path"].startswith("M")
    items = a_run()
    first = send(phone, long_code(code), written(items[:3]))
    assert first.json() == {"have": [one.id for one in items[:3]], "not_taken": []}
    second = send(phone, code["typed"].lower(), written(items))
    assert second.json() == {"have": [one.id for one in items], "not_taken": []}
    before = dump(database)
    assert send(phone, long_code(code), written(items)).json() == second.json()
    assert dump(database) == before
    told = hut.get("/api/runs/run-1/day").json()["phones"]
    assert [(one["name"], one["keeper"], one["items"]) for one in told] == [("Larch", "Ines", 5)]
    for path in ("/api/runs/run-1", "/api/runs/run-1/phone-codes", "/api/hut/day", "/api/hut/track"):
        headers = {"x-coldfield-code": long_code(code), "x-coldfield-phone": PHONE.id}
        assert phone.get(path, headers=headers).status_code == 401


def test_contract_a_run_through_a_file_and_through_the_hut_comes_to_the_same_records(
    hut: TestClient, phone: TestClient, database: Database
) -> None:
    def read() -> dict[str, Any]:
        kept: dict[str, Any] = {}
        with database.read() as connection:
            for name in ("split", "observation", "hiding", "day_item", "phone", "group_check"):
                table = schema.metadata.tables[name]
                rows = connection.execute(select(table).where(table.c.deletion_id.is_(None))).mappings()
                told = [
                    {k: v for k, v in row.items() if not k.endswith("d_utc") and k != "version"}
                    for row in rows
                ]
                kept[name] = sorted(told, key=lambda row: str(row["id"]))
        return kept

    check = [
        item(1, "searcher", 0, of="check-of-it", searcher="x-1", name="Yuki"),
        item(2, "check", 1, of="check-of-it", extent="simple", leader="Ines", run="run-1"),
        item(3, "checked", 2, of="check-of-it", stage="transmits", person="x-1", name="Yuki", transmits=True),
    ]
    items = [*a_run(), item(6, "undo", 310, item="run-1-phone-of-ines-3"), item(7, "close", 400, missing=[])]
    code = made(hut)
    for start in range(0, len(items), 2):
        assert send(phone, long_code(code), written(items[start : start + 2])).json()["not_taken"] == []
    assert send(phone, long_code(code), written(check)).json()["not_taken"] == []
    by_hut = read()
    with database.write() as connection:
        for name in ("split", "observation", "hiding", "day_item", "group_check", "phone"):
            table = schema.metadata.tables[name]
            mine = [
                row["id"]
                for row in by_hut[name]
                if str(row["id"]).startswith(("run-1-", "check-of", "phone-of"))
            ]
            connection.execute(table.delete().where(table.c.id.in_(mine)))
    take_day_file(database, written([*items, *check]), "day.coldfield-day.txt")
    assert read() == by_hut
    assert len(by_hut["day_item"]) == 10


def test_contract_a_runs_code_does_nothing_to_another_run(
    hut: TestClient, phone: TestClient, database: Database
) -> None:
    """Whatever a phone with a code of one run sends, other runs stay unchanged."""
    hut.put(
        "/api/runs/run-2", json={"drill_id": "fan", "drill_version": 1, "held_utc": "2026-02-14T12:00:00Z"}
    )
    hut.put("/api/splits/of-run-2", json={"run_id": "run-2", "split": "alarm", "since_alarm_s": 0.0})
    other = made(hut, "run-2")
    theirs = PhoneLine(id="phone-of-bram", name="Birch", keeper="Bram")
    send(phone, long_code(other), written(a_run("run-2", theirs.id), theirs), theirs.id)
    hut.put("/api/group_checks/check-2", json={"run_id": "run-2", "begun_utc": "2026-02-14T09:00:00Z"})
    code = long_code(made(hut))

    def others() -> Any:
        tables = {
            "run": "id",
            "split": "run_id",
            "observation": "run_id",
            "day_item": "run_id",
            "group_check": "run_id",
        }
        with database.read() as connection:
            return {
                name: connection.execute(
                    select(schema.metadata.tables[name]).where(
                        schema.metadata.tables[name].c[column] == "run-2"
                    )
                ).all()
                for name, column in tables.items()
            }

    before = others()
    over = item(1, "split", 5, of="run-1", split="first_signal", burial="A").model_copy(
        update={"id": "of-run-2"}
    )
    made_up = [
        [item(9, "split", 5, of="run-2", split="set_out", burial="A")],
        [item(9, "undo", 5, of="run-2", item="run-2-phone-of-bram-2")],
        [item(1, "undo", 5, of="run-1", item="run-2-phone-of-bram-2")],
        [item(1, "check", 5, of="run-2", extent="simple", run="run-1")],
        [item(1, "check", 5, of="check-2", extent="simple", run="run-1")],
        [item(1, "check", 5, of="made-up", extent="simple", run="run-2")],
        [item(1, "checked", 5, of="check-2", stage="transmits", person="s1", name="Noor")],
        [over],
        [item(1, "left_out", 5, of="run-2", whose="phone-of-bram", out=True)],
        [item(1, "left_out", 5, of="run-1", whose="phone-of-bram", out=True)],
        [item(1, "same", 5, of="run-2", burials={"A": "B"})],
        [item(1, "alarm", 5, of="run-2", phone="laptop")],
        [one.model_copy(update={"of": "run-1"}) for one in a_run("run-2", theirs.id)],
    ]
    for items in made_up:
        answer = send(phone, code, written(items))
        assert answer.status_code in (200, 422), items
        assert others() == before, items
    run = {"x-coldfield-code": code, "x-coldfield-phone": PHONE.id}
    assert phone.put("/api/runs/run-2/phones/phone-of-bram?left_out=true", headers=run).status_code == 401


def test_contract_codes_end_with_the_day_are_withdrawn_and_go_with_their_run(
    hut: TestClient, phone: TestClient, service: tuple[Database, FastAPI]
) -> None:
    database = service[0]
    content = written(a_run()[:1])
    code, other = made(hut), made(hut)
    assert [one["id"] for one in hut.get("/api/runs/run-1/phone-codes").json()] == [code["id"], other["id"]]
    assert hut.delete(f"/api/runs/run-2/phone-codes/{code['id']}").status_code == 404
    assert hut.delete(f"/api/runs/run-1/phone-codes/{code['id']}").status_code == 200
    for gone in (long_code(code), code["typed"]):
        assert send(phone, gone, content).status_code == 401
    assert send(phone, other["typed"], content).status_code == 200
    assert send(phone, "0THER000", content).json() == send(phone, long_code(code), content).json()
    usual, until = database.now, datetime.fromisoformat(other["until_utc"])
    database.now = lambda: until - timedelta(seconds=1)
    assert send(phone, other["typed"], content).status_code == 200
    database.now = lambda: until
    assert send(phone, other["typed"], content).status_code == 401
    assert hut.get("/api/runs/run-1/phone-codes").json() == []
    database.now = usual
    track = made(hut, may="track")
    assert send(phone, long_code(track), content).status_code == 401
    deletion = hut.delete("/api/runs/run-1").json()["deletion_id"]
    assert send(phone, other["typed"], content).status_code == 401
    hut.post(f"/api/deletions/{deletion}/undo")


def test_contract_who_guesses_codes_waits_and_phones_behind_the_same_address_do_not(
    hut: TestClient, app: FastAPI
) -> None:
    with hut_client(app, phone="192.168.7.99") as phone:
        _guesses(hut, phone)


def _guesses(hut: TestClient, phone: TestClient) -> None:
    content, code, fresh = written(a_run()[:1]), made(hut), made(hut)
    assert send(phone, code["typed"], content).status_code == 200
    guessed = [send(phone, f"0000000{sign}", content, "a-guesser").status_code for sign in "123456789ABC"]
    assert guessed[:10] == [401] * 10
    assert set(guessed[10:]) == {429}
    # Phones can continue with the picture of a code, and with a typed code used before.
    assert send(phone, long_code(fresh), content).status_code == 200
    assert send(phone, code["typed"], content).status_code == 200
    assert send(phone, fresh["typed"], content).status_code == 429
    assert send(phone, "00000000000AA", content).status_code == 401


def test_contract_codes_are_kept_as_hashes_and_go_into_no_export(hut: TestClient, database: Database) -> None:
    code = made(hut)
    kept = json.dumps(dump(database), default=str)
    assert long_code(code) not in kept
    assert code["typed"] not in kept
    assert b"phone_code" not in hut.get("/api/export").content


def test_contract_what_the_phone_needs_stands_behind_the_number_sign(hut: TestClient) -> None:
    keeper, track = made(hut), made(hut, may="track")
    address, _, fragment = keeper["address"].partition("#")
    assert address == f"http://{HERE}/clock"
    way, may, code, run_id, text = fragment.split("/")
    assert (way, may, len(code), run_id) == ("hut", "keeper", 13, "run-1")
    run = read_run_code([text])
    assert "A" in [one.id for one in run.burials]
    assert run.searchers
    # A person who sends a track must not see where the sets are: the code contains only people's names.
    for_tracks = read_run_code([track["address"].rpartition("/")[2]])
    assert for_tracks.searchers == run.searchers
    assert (for_tracks.burials, for_tracks.anchors) == ([], [])


def test_contract_a_track_goes_to_its_run_and_person_and_is_taken_back_with_all_of_its_phone(
    hut: TestClient, phone: TestClient
) -> None:
    code, keeper = made(hut, may="track"), made(hut)
    headers = {"x-coldfield-code": long_code(code), "x-coldfield-phone": PHONE.id}
    told = {"file_name": "way.gpx", "searcher": "s1", "keeper": "Ines"}
    tracks_before = {one["id"] for one in hut.get("/api/runs/run-1/tracks").json()}
    answers = [phone.post("/api/hut/track", params=told, content=GPX, headers=headers) for _ in range(2)]
    assert [one.status_code for one in answers] == [200, 200], answers[0].text
    assert set(answers[0].json()) == {"sha256"}
    (track,) = [one for one in hut.get("/api/runs/run-1/tracks").json() if one["id"] not in tracks_before]
    assert (track["searcher"], track["matched"], track["phone_id"]) == ("s1", "told", PHONE.id)
    for bad in (b"", b"not a track", b"PK\x03\x04zip"):
        answer = phone.post("/api/hut/track", params=told, content=bad, headers=headers)
        assert answer.status_code == 422
        assert "s1" not in answer.text
    assert (
        phone.post(
            "/api/hut/track",
            params=told,
            content=GPX,
            headers={**headers, "x-coldfield-code": keeper["typed"]},
        ).status_code
        == 401
    )

    send(phone, long_code(keeper), written(a_run()))
    whole = [hut.get(f"/api/runs/run-1/{part}").json() for part in ("day", "tracks")]
    splits = hut.get("/api/splits?run_id=run-1").json()["items"]
    back = f"/api/runs/run-1/phones/{PHONE.id}"
    assert hut.put(back, params={"left_out": True}).status_code == 200
    assert hut.put(back, params={"left_out": True}).status_code == 200
    day = hut.get("/api/runs/run-1/day").json()
    assert [(one["left_out"], one["items"], one["tracks"]) for one in day["phones"]] == [(True, 5, 1)]
    assert {one["id"] for one in hut.get("/api/runs/run-1/tracks").json()} == tracks_before
    left = hut.get("/api/splits?run_id=run-1").json()["items"]
    assert [one for one in left if one["id"].startswith("run-1-phone")] == []
    # Repeated and new items from the phone are also left out.
    assert (
        send(
            phone, long_code(keeper), written([*a_run(), item(6, "split", 320, split="set_out", burial="A")])
        ).json()["not_taken"]
        == []
    )
    assert len(hut.get("/api/splits?run_id=run-1").json()["items"]) == len(left)
    assert hut.put(back, params={"left_out": False}).status_code == 200
    assert hut.get("/api/runs/run-1/tracks").json() == whole[1]
    again = hut.get("/api/splits?run_id=run-1").json()["items"]
    assert {one["id"] for one in splits} < {one["id"] for one in again}
    assert len(again) == len(splits) + 1
    assert hut.put("/api/runs/run-1/phones/nobody", params={"left_out": True}).status_code == 404


def test_contract_a_run_begun_on_a_phone_joins_the_run_of_its_code(
    hut: TestClient, phone: TestClient
) -> None:
    code = made(hut)
    of = "n-20260214-BCDFGH"
    bare = RunLine(id=of, name="", prepared=False)
    items = [
        item(1, "burial", 0, of, burial="A", state="added"),
        *(one.model_copy(update={"n": one.n + 1}) for one in a_run(of)),
    ]
    items = [one.model_copy(update={"id": f"x{k}"}) for k, one in enumerate(items)]
    for start in (0, 3):
        answer = send(phone, code["typed"], written(items[start : start + 3], runs=(bare,)))
        assert answer.json()["not_taken"] == []
    splits = {
        one["split"]
        for one in hut.get("/api/splits?run_id=run-1").json()["items"]
        if one["id"].startswith("x")
    }
    assert splits == {"alarm", "first_signal", "probe_strike", "airway_clear"}


def test_contract_a_person_who_is_forgotten_is_gone_from_phones_too(
    hut: TestClient, phone: TestClient, database: Database
) -> None:
    hut.put("/api/people/runa", json={"name": "Rúna Fálk"})
    code = long_code(made(hut))
    theirs = PhoneLine(id="phone-of-runa", name="Rúna Fálk's phone", keeper="Rúna Fálk")
    send(
        phone,
        code,
        written(
            [
                item(1, "alarm", 0, phone=theirs.id),
                item(2, "note", 1, phone=theirs.id, words="Rúna Fálk fell"),
            ],
            theirs,
        ),
    )
    headers = {"x-coldfield-code": long_code(made(hut, may="track")), "x-coldfield-phone": "phone-2"}
    told = {"file_name": "Rúna Fálk.gpx", "keeper": "Rúna Fálk", "name": "of Rúna Fálk"}
    assert phone.post("/api/hut/track", params=told, content=GPX, headers=headers).status_code == 200
    answer = hut.post("/api/people/runa/forget")
    assert answer.status_code == 200, answer.text
    assert "Fálk" not in json.dumps(dump(database), default=str, ensure_ascii=False)


def test_contract_a_phone_sends_bounded_pieces(hut: TestClient, phone: TestClient) -> None:
    code = long_code(made(hut))
    assert send(phone, code, b"x" * 1_000_001).status_code == 413
    answer = send(phone, code, b"no day file")
    assert answer.status_code == 422
    assert send(phone, "x" * 65, b"").status_code == 422
    assert send(phone, "", b"").status_code == 401
