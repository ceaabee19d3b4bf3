"""A new kind of record, declared only here, works in every way that records are used.

The invented kind is a notice of the hut's book: it refers to a run and perhaps a person, and has prose, a
number and a file.
"""

from __future__ import annotations

import csv
import io
import sqlite3
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Annotated, Any, Literal

import pytest
from pydantic import BaseModel, Field
from sqlalchemy import JSON, Column, ForeignKey, Integer, LargeBinary, String, Table
from starlette.testclient import TestClient

from coldfield.app.records.data import Data
from coldfield.app.records.keeping import backup, export_records, forget, import_records, restore
from coldfield.app.records.reading import keep_with_file
from coldfield.files.wording import TextPlace, Wording
from coldfield.message import verbatim
from coldfield.records import kinds
from coldfield.records.database import Database, open_sqlite
from coldfield.records.folder import Folder
from coldfield.records.forget.columns import unclassified
from coldfield.records.forms import FileName, Form, Label, Prose, RecordId, Sha256
from coldfield.records.kind import KeptFile, Kind
from coldfield.records.kinds.people import person
from coldfield.records.tables import Id, metadata, record_table, refers_to, text_column
from coldfield.web.app import create_app, most_bytes
from example_records import a_small_season, put

PAGE = b"Hut book, Saturday\nSnow on the roof.\n"


class Weather(BaseModel):
    """The weather of the day."""

    snow_cm: Annotated[int, Field(ge=0, le=900)]


class Notice(Form):
    """A page of the hut's book."""

    run_id: RecordId
    writer_id: RecordId | None = None
    title: Label
    mood: Literal["calm", "wild"] = "calm"
    said: Prose = ""
    weather: Weather | None = None
    file_name: FileName
    size_bytes: Annotated[int, Field(ge=1, le=5000)]
    sha256: Sha256


def made_up() -> Kind:
    table = record_table(
        "notice",
        refers_to("run"),
        refers_to("person", "writer_id", nullable=True),
        text_column("title"),
        Column("mood", String(8), nullable=False),
        text_column("said"),
        Column("weather", JSON(none_as_null=True), nullable=True),
        text_column("file_name"),
        Column("size_bytes", Integer, nullable=False),
        Column("sha256", String(64), nullable=False),
    )
    files = Table(
        "notice_file",
        metadata,
        Column("notice_id", Id, ForeignKey("notice.id"), primary_key=True),
        Column("content", LargeBinary, nullable=False),
    )
    return Kind(
        name="notices",
        one=verbatim("notice"),
        many=verbatim("notices"),
        table=table,
        form=Notice,
        sort="title",
        called="title",
        refers={"run_id": "runs", "writer_id": "people"},
        belongs=("run_id",),
        goes_with="run_id",
        counted=True,
        heavy=("said",),
        words=("title", "said"),
        words_beside={"writer_id": person.c.name},
        narrows=("mood",),
        file=KeptFile(files, "notice_id", 5000),
        texts_beside={files: {"notice_id": TextPlace(Wording.RECORD)}},
        cleared_words=verbatim("notices, without writer now"),
    )


@pytest.fixture
def kind(monkeypatch: pytest.MonkeyPatch) -> Iterator[Kind]:
    """Yield a new kind for one test; its tables are removed afterwards."""
    kind = made_up()
    monkeypatch.setitem(kinds.KINDS, kind.name, kind)
    yield kind
    assert kind.file is not None
    for table in (kind.file.table, kind.table):
        metadata.remove(table)


def opened(folder: Path, kind: Kind) -> Database:
    """Open new records with the tables of the kind, as a migration would create them."""
    database = open_sqlite(Folder(folder), check=False) if (folder / "coldfield.db").exists() else None
    if database is None:
        made = [kind.table, kind.file.table] if kind.file else []
        for table in made:
            metadata.remove(table)
        database = open_sqlite(Folder(folder))
        for table in made:
            metadata._add_table(table.name, table.schema, table)
        with database.write() as connection:
            metadata.create_all(connection, tables=made)
    return database


@pytest.fixture
def notices(kind: Kind, tmp_path: Path) -> Iterator[Database]:
    database = opened(tmp_path / "here", kind)
    a_small_season(database)
    yield database
    database.close()


@pytest.fixture
def client(notices: Database) -> TestClient:
    return TestClient(create_app(notices), base_url="http://127.0.0.1")


def keep(client: TestClient, record_id: str = "n-1", content: bytes = PAGE, **told: Any) -> Any:
    query = {"run_id": "run-1", "writer_id": "ines", "title": "Saturday", "file_name": "page.txt", **told}
    return client.put(f"/api/notices/{record_id}/file", params=query, content=content)


def test_contract_a_new_kind_is_created_read_changed_deleted_and_brought_back(client: TestClient) -> None:
    made = keep(client, said="Bram made the tea")
    assert made.status_code == 201, made.text
    assert keep(client, said="Bram made the tea").status_code == 200
    stored = client.get("/api/notices/n-1").json()
    assert stored == made.json()
    assert client.get("/api/notices/n-1/file").content == PAGE
    form = {key: stored[key] for key in Notice.model_fields}
    changed = client.put(
        "/api/notices/n-1",
        json=form | {"mood": "wild", "weather": {"snow_cm": 40}},
        headers={"If-Match": '"1"'},
    )
    assert (changed.status_code, changed.json()["version"]) == (200, 2), changed.text
    other = client.put("/api/notices/n-1", json=form | {"sha256": "0" * 64}, headers={"If-Match": '"2"'})
    assert other.status_code == 422
    deletion = client.delete("/api/runs/run-1").json()["deletion_id"]
    assert client.get("/api/notices/n-1").status_code == 404
    client.post(f"/api/deletions/{deletion}/undo")
    assert client.get("/api/notices/n-1").json()["mood"] == "wild"


def test_contract_a_new_kind_is_listed_searched_narrowed_and_counted(client: TestClient) -> None:
    keep(client, said="ice on the stairs")
    keep(client, "n-2", title="Autumn", mood="wild")

    def found(**query: Any) -> list[str]:
        return [one["id"] for one in client.get("/api/notices", params=query).json()["items"]]

    assert found() == ["n-2", "n-1"]
    assert found(find="STAIRS") == ["n-1"]
    assert found(find="ines autumn") == ["n-2"]
    assert found(mood="wild") == ["n-2"]
    assert found(run_id="run-1", limit=1) == ["n-2"]
    assert "said" not in client.get("/api/notices").json()["items"][0]
    assert client.get("/api/notices", params={"colour": "red"}).status_code == 422


def test_contract_a_new_kind_is_described(client: TestClient) -> None:
    told = client.get("/api/openapi.json").json()
    paths = {path: set(one) for path, one in told["paths"].items() if path.startswith("/api/notices")}
    assert paths == {
        "/api/notices": {"get"},
        "/api/notices.csv": {"get"},
        "/api/notices/{record_id}": {"get", "put", "delete"},
        "/api/notices/{record_id}/file": {"get", "put"},
    }
    assert set(told["components"]["schemas"]["StoredNotice"]["properties"]) >= set(Notice.model_fields)
    assert most_bytes("/api/notices/n-1/file") == 5001


@pytest.mark.parametrize(
    ("told", "content", "fault"),
    [
        ({"run_id": "no"}, PAGE, "run_id: there is no run 'no'"),
        ({"title": ""}, PAGE, "title: "),
        ({"colour": "red"}, PAGE, "colour: "),
        ({}, b"", "the file is empty"),
    ],
)
def test_contract_a_new_kind_is_refused_as_others_are(
    client: TestClient, told: dict[str, Any], content: bytes, fault: str
) -> None:
    answer = keep(client, content=content, **told)
    assert answer.status_code == 422
    assert any(line.startswith(fault) for line in answer.json()["faults"]), answer.text
    assert client.get("/api/notices").json()["items"] == []


def test_contract_a_new_kind_is_a_table(client: TestClient) -> None:
    keep(client, title="=1+1")
    rows = list(csv.DictReader(io.StringIO(client.get("/api/notices.csv").text)))
    assert list(rows[0]) == [
        *("id", "run_id", "run", "writer_id", "writer", "title", "mood", "weather.snow_cm"),
        *("file_name", "size_bytes", "sha256", "created_utc", "changed_utc"),
    ]
    assert (rows[0]["run"], rows[0]["writer"], rows[0]["title"]) == ("Run 1", "Ines", "'=1+1")
    assert client.get("/api/notices.csv", params={"mood": "wild"}).text.count("\n") == 1


def test_contract_a_new_kind_goes_out_and_comes_back(
    client: TestClient, notices: Database, kind: Kind, tmp_path: Path
) -> None:
    keep(client, said="ice on the stairs")
    counts = export_records(notices, tmp_path / "all.zip")
    assert counts["notices"] == 1
    with zipfile.ZipFile(tmp_path / "all.zip") as archive:
        assert archive.read("notices/n-1.txt") == PAGE
    elsewhere = opened(tmp_path / "elsewhere", kind)
    try:
        assert import_records(elsewhere, tmp_path / "all.zip") == counts
        there = TestClient(create_app(elsewhere), base_url="http://127.0.0.1")
        assert there.get("/api/notices/n-1").json() == client.get("/api/notices/n-1").json()
        assert there.get("/api/notices/n-1/file").content == PAGE
    finally:
        elsewhere.close()


def test_contract_a_new_kind_is_handed_on_with_its_drill_and_without_people(
    client: TestClient, notices: Database, kind: Kind, tmp_path: Path
) -> None:
    keep(client)
    export_records(notices, tmp_path / "fan.zip", drill_id="fan")
    elsewhere = opened(tmp_path / "elsewhere", kind)
    try:
        import_records(elsewhere, tmp_path / "fan.zip")
        there = TestClient(create_app(elsewhere), base_url="http://127.0.0.1")
        assert there.get("/api/notices/n-1").json()["writer_id"] is None
    finally:
        elsewhere.close()


def test_contract_an_archive_from_before_the_kind_comes_in(
    notices: Database, kind: Kind, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as before:
        before.delitem(kinds.KINDS, kind.name)
        export_records(notices, tmp_path / "all.zip")
    elsewhere = opened(tmp_path / "elsewhere", kind)
    try:
        assert import_records(elsewhere, tmp_path / "all.zip")["notices"] == 0
    finally:
        elsewhere.close()


def test_contract_a_new_kind_is_backed_up_and_restored(
    client: TestClient, notices: Database, kind: Kind, tmp_path: Path
) -> None:
    keep(client)
    data = Data(Folder(tmp_path / "here"))
    saved = backup(data)
    client.delete("/api/notices/n-1")
    notices.close()
    restore(data, saved)
    again = opened(tmp_path / "here", kind)
    try:
        there = TestClient(create_app(again), base_url="http://127.0.0.1")
        assert there.get("/api/notices/n-1/file").content == PAGE
    finally:
        again.close()


def test_contract_a_new_kind_forgets_a_person(client: TestClient, notices: Database, tmp_path: Path) -> None:
    put(notices, "people", "bo", name="Bohuslava Reth")
    keep(client, writer_id="bo", said="Bohuslava Reth made the tea")
    keep(client, "n-2", b"Bohuslava Reth was here\n", title="Seen", file_name="note.txt")
    told = forget(notices, "bo").document()
    assert told["made_anonymous"]["notices, without writer now"] == 1
    stored = client.get("/api/notices/n-1").json()
    assert (stored["writer_id"], stored["version"]) == (None, 2)
    assert stored["said"] == "(forgotten person) made the tea"
    assert client.get("/api/notices/n-2").json()["version"] == 2
    notices.close()
    with sqlite3.connect(tmp_path / "here" / "coldfield.db") as connection:
        assert b"Bohuslava" not in connection.serialize()


def test_contract_what_is_a_persons_own_goes_with_them(
    kind: Kind, notices: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    object.__setattr__(kind, "personal", True)
    told = {"run_id": "run-1", "writer_id": "yuki", "title": "Mine", "file_name": "mine.txt"}
    keep_with_file(notices, "notices", "n-3", PAGE, told)
    assert forget(notices, "yuki").document()["removed"]["notices"] == 1
    with notices.read() as connection:
        assert connection.execute(kind.table.select()).all() == []


def test_contract_the_texts_of_a_new_kind_must_be_told(kind: Kind) -> None:
    assert unclassified() == []
