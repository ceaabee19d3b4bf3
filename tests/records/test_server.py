"""Records on a PostgreSQL server: opening, refusing, one writing process, the same archive and API."""

from __future__ import annotations

import socket
from collections.abc import Iterator
from pathlib import Path

import psycopg
import pytest
from sqlalchemy import text
from starlette.testclient import TestClient

from coldfield.app.records.data import Data, writing
from coldfield.app.records.keeping import export_records, import_records
from coldfield.errors import BadInput, Refused, StoreTrouble
from coldfield.records.database import Database, open_server
from coldfield.records.folder import Folder
from coldfield.records.schema import metadata
from coldfield.web.app import create_app
from example_records import a_small_season, put
from postgresql_server import a_database

pytestmark = pytest.mark.postgresql


@pytest.fixture
def address(postgresql: str) -> Iterator[str]:
    with a_database(postgresql) as address:
        yield address


def test_contract_tables_are_made_once_and_found_again(address: str) -> None:
    first = open_server(address)
    put(first, "people", "ines", name="Ines")
    first.close()
    again = open_server(address)
    with again.read() as connection:
        assert connection.execute(text("SELECT name FROM person")).scalar_one() == "Ines"
    again.close()


def test_contract_a_database_of_another_program_is_left_alone(address: str) -> None:
    with psycopg.connect(address, autocommit=True) as link:
        link.execute("CREATE TABLE songs (name text)")
        with pytest.raises(StoreTrouble, match="another program"):
            open_server(address)
        rows = link.execute("SELECT tablename FROM pg_tables WHERE schemaname = 'public'").fetchall()
    assert rows == [("songs",)]


def test_contract_a_newer_schema_is_refused(address: str) -> None:
    open_server(address).close()
    with psycopg.connect(address, autocommit=True) as link:
        link.execute("UPDATE alembic_version SET version_num = '9999'")
    with pytest.raises(StoreTrouble, match="newer Coldfield"):
        open_server(address)


def test_contract_only_one_process_writes(address: str, tmp_path: Path) -> None:
    data = Data(Folder(tmp_path), url=address)
    first, second = writing(data, who="first"), writing(data, who="second")
    with first, pytest.raises(Refused, match="in use by another"), second:
        pass
    with writing(data, who="third") as database:
        assert put(database, "people", "ines", name="Ines").created


def test_contract_a_server_that_does_not_answer_is_told() -> None:
    with socket.create_server(("127.0.0.1", 0)) as free:
        port = free.getsockname()[1]
    with pytest.raises(StoreTrouble, match="does not answer") as caught:
        open_server(f"postgresql://nobody@127.0.0.1:{port}/nothing")
    assert caught.value.kind == "unreachable"


@pytest.mark.parametrize("url", ["sqlite:///x.db", "mysql://x/y", "no url"])
def test_contract_other_addresses_are_refused(url: str) -> None:
    with pytest.raises(BadInput, match="--database"):
        open_server(url)


def test_contract_where_it_is_holds_no_password(address: str) -> None:
    database = open_server(address.replace("postgres@", "postgres:secret@"))
    assert "secret" not in database.place
    database.close()


def test_property_records_move_from_a_file_to_a_server_and_back_equal(
    on_sqlite: Database, address: str, tmp_path: Path
) -> None:
    a_small_season(on_sqlite)
    server = open_server(address, now=on_sqlite.now)
    export_records(on_sqlite, tmp_path / "file.zip")
    import_records(server, tmp_path / "file.zip")
    tables = metadata.sorted_tables
    with on_sqlite.read() as one, server.read() as other:
        for table in tables:
            rows = [sorted(map(repr, link.execute(table.select()))) for link in (one, other)]
            assert rows[0] == rows[1], table.name
    server.close()


def test_contract_the_api_is_the_same_on_a_server(address: str) -> None:
    server = open_server(address)
    client = TestClient(create_app(server), base_url="http://127.0.0.1")
    a_small_season(server)
    assert client.put("/api/people/noor", json={"name": "Noor"}).status_code == 201
    stale = client.put("/api/people/noor", json={"name": "N"}, headers={"If-Match": '"7"'})
    assert stale.status_code == 412
    assert [p["name"] for p in client.get("/api/people").json()["items"]] == ["Bram", "Ines", "Noor", "Yuki"]
    deletion = client.delete("/api/runs/run-1").json()["deletion_id"]
    assert client.post(f"/api/deletions/{deletion}/undo").json()["id"] == "run-1"
    assert client.get("/api/people/ines/history").json()[0]["run_id"] == "run-1"
    assert client.post("/api/backups").status_code == 409
    assert client.get("/api/export").content[:2] == b"PK"
    server.close()
