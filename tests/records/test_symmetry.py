"""Everything that a route accepts can be read, listed, exported and imported unchanged; refusals are a 4xx.

Bodies are made from the forms, so that new kinds and fields are covered without being named.
"""

from __future__ import annotations

import io
import json
import zipfile
from collections.abc import Callable, Iterator
from hashlib import sha256
from itertools import count
from pathlib import Path
from typing import Any

import pytest
from fastapi import FastAPI
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from starlette.testclient import TestClient

from amount import amount
from bodies import body, spoilt
from coldfield.app.records.keeping import bring_records, export_records, import_records
from coldfield.errors import BadInput, ColdfieldError
from coldfield.records.database import Database
from coldfield.records.kinds import KINDS
from example_records import GPX, a_small_season, drill, picture, put

KNOWN = {
    "people": ["ines", "bram", "yuki"],
    "sites": ["bowl"],
    "courses": ["feb"],
    "days": ["feb-14"],
    "drills": ["fan"],
    "runs": ["run-1"],
    "group_checks": ["check-1"],
    "phones": ["phone-1"],
    "kit": ["hl-01"],
}
BY_HAND = [name for name in KINDS if KINDS[name].by_hand]
STAMPED = {
    "version": 3,
    "created_utc": "2026-02-14T09:30:00.000Z",
    "changed_utc": "2026-02-15T09:30:00.000Z",
    "deletion_id": None,
}
HELD = {
    "runs": {"drill_version": 2, "held_utc": "2026-02-14T10:30:00+01:00"},
    "pictures": {"width_px": 40, "height_px": 30, "points": [], "placed_by": None, "matrix": None},
}
"""The stored value of fields that a form may leave open."""

SETTINGS = settings(
    max_examples=amount(25, desk=250),
    deadline=None,
    database=None,
    derandomize=True,
    suppress_health_check=[
        HealthCheck.function_scoped_fixture,
        HealthCheck.too_slow,
        HealthCheck.filter_too_much,
    ],
)


@pytest.fixture
def client(database: Database, app_on: Callable[[Database], FastAPI]) -> TestClient:
    a_small_season(database)
    put(database, "drills", "fan", based_on=1, document=drill(name="Changed since"))
    put(database, "group_checks", "check-1", begun_utc="2026-02-14T09:00:00Z")
    put(database, "phones", "phone-1", name="Larch")
    return TestClient(app_on(database), base_url="http://127.0.0.1", raise_server_exceptions=False)


@pytest.mark.parametrize("name", BY_HAND)
def test_property_what_the_api_takes_comes_back_equal_through_every_door(
    name: str, database: Database, empty: Database, client: TestClient, tmp_path: Path
) -> None:
    numbers = count()
    taken = []

    @SETTINGS
    @given(given_body=body(KINDS[name], KNOWN) | spoilt(body(KINDS[name], KNOWN)))
    def send(given_body: Any) -> None:
        address = f"/api/{name}/made-{next(numbers)}"
        answer = client.put(
            address, content=json.dumps(given_body), headers={"content-type": "application/json"}
        )
        assert answer.status_code in (201, 409, 422), answer.text
        found = client.get(address)
        assert found.status_code == (200 if answer.status_code == 201 else 404)
        if answer.status_code == 201:
            assert found.json() == answer.json()
            again = client.put(
                address, json={key: answer.json()[key] for key in KINDS[name].form.model_fields}
            )
            assert (again.status_code, again.json()) == (200, answer.json())
            taken.append(answer.json())

    send()
    assert taken
    listed = {one["id"]: one for one in everything(client, name)}
    for record in taken:
        light = {key: value for key, value in record.items() if key not in KINDS[name].heavy}
        assert light.items() <= listed[record["id"]].items()
    comes_back_equal(database, empty, tmp_path)


@pytest.mark.parametrize("name", list(KINDS))
def test_property_what_an_import_takes_comes_back_equal_through_every_door(
    name: str, database: Database, empty: Database, client: TestClient, tmp_path: Path
) -> None:
    numbers = count()
    taken = []
    entries = st.tuples(body(KINDS[name], KNOWN), st.just(STAMPED))
    good = entries.map(lambda one: {**one[0], **one[1], **HELD.get(name, {})})
    bad = spoilt(good)

    @SETTINGS
    @given(
        record=good | bad,
        content=st.binary(max_size=50),
        ids=st.just("") | st.sampled_from(["a\0", "\ud800", 7, None]),
    )
    def bring(record: Any, content: bytes, ids: Any) -> None:
        key = f"made-{next(numbers)}"
        data = archive(
            name, record | {"id": key if ids == "" else ids} if isinstance(record, dict) else record, content
        )
        told = verdict(database, data, rehearse=True)
        assert verdict(database, data, rehearse=False) == told
        if told is True:
            taken.append(key)
            found = client.get(f"/api/{name}/{key}")
            assert found.status_code == (200 if record["deletion_id"] is None else 404), found.text

    bring()
    assert taken
    listed = {one["id"] for one in everything(client, name)}
    assert set(taken) <= listed
    comes_back_equal(database, empty, tmp_path)


def everything(client: TestClient, name: str) -> Iterator[dict[str, Any]]:
    after = ""
    while True:
        answer = client.get(f"/api/{name}?limit=500{after}")
        assert answer.status_code == 200, answer.text
        yield from answer.json()["items"]
        if answer.json()["next"] is None:
            return
        after = f"&after={answer.json()['next']}"


def verdict(database: Database, data: bytes, *, rehearse: bool) -> Any:
    try:
        bring_records(database, io.BytesIO(data), "made.zip", rehearse=rehearse)
    except ColdfieldError as error:
        assert isinstance(error, BadInput), error
        return error.texts()
    return True


def archive(name: str, record: Any, content: bytes) -> bytes:
    """Return an archive of one record with its files."""
    members: dict[str, bytes] = {f"records/{kind}.json": b"[]" for kind in KINDS} | {
        "records/deletions.json": b"[]"
    }
    if isinstance(record, dict) and name == "drills":
        members["drills/made/1.json"] = dumped(record.pop("document", None))
        record["versions"] = [
            {"number": 1, "created_utc": STAMPED["created_utc"], "file": "drills/made/1.json"}
        ]
    elif isinstance(record, dict) and name == "debriefs":
        members["debriefs/made.json"] = dumped(record.pop("document", None))
        record["file"] = "debriefs/made.json"
    elif isinstance(record, dict) and name in ("tracks", "grids", "pictures"):
        content = picture() if name == "pictures" else content or GPX
        members["kept/file"] = content
        record |= {"file": "kept/file", "sha256": sha256(content).hexdigest(), "size_bytes": len(content)}
    members[f"records/{name}.json"] = dumped([record])
    sums = {member: sha256(data).hexdigest() for member, data in members.items()}
    members["manifest.json"] = dumped({"format": "coldfield-records/1", "sha256": sums})
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as written:
        for member, data in members.items():
            written.writestr(member, data)
    return out.getvalue()


def dumped(value: Any) -> bytes:
    return json.dumps(value).encode()


def comes_back_equal(database: Database, empty: Database, place: Path) -> None:
    counts = export_records(database, place / "all.zip")
    assert import_records(empty, place / "all.zip") == counts
    export_records(empty, place / "again.zip")
    first, second = members(place / "all.zip"), members(place / "again.zip")
    assert first.keys() == second.keys()
    for name in first:
        assert first[name] == second[name], name


def members(path: Path) -> dict[str, Any]:
    with zipfile.ZipFile(path) as written:
        found: dict[str, Any] = {name: written.read(name) for name in written.namelist()}
    found["manifest.json"] = json.loads(found["manifest.json"]) | {"made_utc": ""}
    return found


@pytest.mark.parametrize("name", list(KINDS))
def test_contract_bodies_are_made_for_every_field_of_every_form(name: str) -> None:
    made: set[str] = set()

    @SETTINGS
    @given(given_body=body(KINDS[name], KNOWN))
    def look(given_body: dict[str, Any]) -> None:
        made.update(given_body)

    look()
    assert made == set(KINDS[name].form.model_fields)
