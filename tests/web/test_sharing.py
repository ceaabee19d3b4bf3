"""Export one drill and import it into other records through the API; invalid archives are refused as by the command."""

from __future__ import annotations

import io
import json
import zipfile
from hashlib import sha256
from typing import Any

import pytest
from fastapi.testclient import TestClient

from coldfield.app.records.keeping import import_records
from coldfield.errors import BadInput
from coldfield.records.database import Database
from example_records import a_small_season, dump

SENT = {"content-type": "application/octet-stream"}


def bring(client: TestClient, archive: bytes, **query: Any) -> Any:
    return client.post(
        "/api/import", params={"file_name": "sent.zip", **query}, content=archive, headers=SENT
    )


def a_zip(members: dict[str, bytes], **manifest: Any) -> bytes:
    out = io.BytesIO()
    told = {"format": "coldfield-records/1", "sha256": {n: sha256(d).hexdigest() for n, d in members.items()}}
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in members.items():
            archive.writestr(name, data)
        archive.writestr("manifest.json", json.dumps(told | manifest))
    return out.getvalue()


def test_contract_a_drill_goes_out_and_comes_back_over_the_api(
    client: TestClient, database: Database
) -> None:
    a_small_season(database)
    out = client.get("/api/export", params={"drill": "fan"})
    assert out.headers["content-disposition"].startswith("attachment")
    all_here = bring(client, out.content, dry_run=True).json()
    assert all_here["new"] == {}
    deleted = client.delete("/api/drills/fan", headers={"if-match": '"1"'})
    assert deleted.status_code == 200
    assert client.get("/api/export", params={"drill": "fan"}).status_code == 404


def test_contract_what_would_come_in_is_told_before_and_comes(client: TestClient, database: Database) -> None:
    members = an_archive()
    before = dump(database)
    would = bring(client, members, dry_run=True)
    assert would.status_code == 200
    assert dump(database) == before
    done = bring(client, members)
    assert done.json() == would.json() == {"new": {"people": 1}, "here": {}, "drills": [], "runs": []}
    assert client.get("/api/people/noor").json()["name"] == "Noor"


KINDS = [
    "people",
    "kit",
    "sites",
    "courses",
    "days",
    "participants",
    "drills",
    "runs",
    "splits",
    "observations",
    "tracks",
    "debriefs",
]


def an_archive(**changes: Any) -> bytes:
    return a_zip(members_of(**changes))


def members_of(**changes: Any) -> dict[str, bytes]:
    stamps = {"version": 1, "created_utc": "2026-02-14T09:00:00.000Z", "deletion_id": None}
    noor = {
        "id": "noor",
        **stamps,
        "changed_utc": stamps["created_utc"],
        "name": "Noor",
        "contact": "",
        "notes": "",
    }
    records: dict[str, Any] = {kind: [] for kind in (*KINDS, "deletions")} | {"people": [noor]} | changes
    return {f"records/{kind}.json": json.dumps(rows).encode() for kind, rows in records.items()}


def outside() -> bytes:
    stamps = {"version": 1, "created_utc": "2026-02-14T09:00:00.000Z", "deletion_id": None}
    record = {"id": "x", **stamps, "changed_utc": stamps["created_utc"], "run_id": "r", "made_by": {}}
    return an_archive(debriefs=[{**record, "file": "../../../etc/passwd"}])


def bomb() -> bytes:
    return a_zip(members_of() | {"records/people.json": b" " * 1_000_000_001})


def not_named() -> bytes:
    out = io.BytesIO(an_archive())
    with zipfile.ZipFile(out, "a") as archive:
        archive.writestr("../outside.txt", "x")
    return out.getvalue()


@pytest.mark.parametrize(
    ("archive", "fault"),
    [
        (lambda: b"", "is not a zip file"),
        (lambda: b"PK\x03\x04 and no more", "is not a zip file"),
        (lambda: a_zip({}, format="something/1"), "format: must be"),
        (outside, "etc/passwd: is missing"),
        (not_named, "is not in the manifest"),
        (bomb, "unpacks to more than 1,000 MB"),
        (lambda: an_archive(people=[{"id": "noor"}, 7]), "records/people.json[1]: must be an object"),
    ],
)
def test_contract_what_is_no_archive_is_refused_like_the_command_does_and_nothing_kept(
    client: TestClient, database: Database, tmp_path: Any, archive: Any, fault: str
) -> None:
    data = archive()
    before = dump(database)
    answer = bring(client, data)
    assert answer.status_code == 422
    assert answer.headers["content-type"] == "application/problem+json"
    faults = answer.json()["faults"]
    assert any(fault in line for line in faults), faults
    assert dump(database) == before
    (tmp_path / "sent.zip").write_bytes(data)
    with pytest.raises(BadInput) as told:
        import_records(database, tmp_path / "sent.zip")
    by_command = told.value.lines()
    assert [line.partition(": ")[2] for line in faults] == [line.partition(": ")[2] for line in by_command]


def test_contract_every_fault_of_an_archive_is_told_at_once(client: TestClient) -> None:
    faults = bring(client, an_archive(people=[{"id": "noor"}, 7], kit=["x"])).json()["faults"]
    assert [line for line in faults if "people.json[1]" in line]
    assert [line for line in faults if "kit.json[0]" in line]
