"""backup, restore, export, import and forget as commands, compared with the API."""

from __future__ import annotations

import io
import json
import zipfile
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result
from pydantic import TypeAdapter
from starlette.testclient import TestClient

from coldfield.app.records.data import Data, writing
from coldfield.cli.main import COMMANDS
from coldfield.errors import ColdfieldError
from coldfield.message import Message
from coldfield.records.folder import Folder
from coldfield.web.app import create_app
from coldfield.words import say
from example_records import a_small_season, put


@pytest.fixture
def data(tmp_path: Path) -> Path:
    with writing(Data(Folder(tmp_path / "data")), who="a test") as database:
        a_small_season(database)
    return tmp_path / "data"


def run(name: str, *arguments: object, answer: str | None = None) -> Result:
    command = import_module(COMMANDS[name][0]).command
    return CliRunner().invoke(command, [str(one) for one in arguments], input=answer)


def done(name: str, *arguments: object) -> str:
    result = run(name, *arguments)
    assert result.exit_code == 0, (result.output, result.exception)
    return result.stdout


def people(data: Path) -> list[str]:
    with writing(Data(Folder(data)), who="a test") as database:
        found = TestClient(create_app(database), base_url="http://127.0.0.1").get("/api/people").json()
    return [one["name"] for one in found["items"]]


def test_contract_a_backup_is_restored_and_what_was_there_is_kept(data: Path) -> None:
    path = done("backup", "--data", data).strip()
    with writing(Data(Folder(data)), who="a test") as database:
        put(database, "people", "noor", name="Noor")
    told = done("restore", "--data", data, path).splitlines()
    assert people(data) == ["Bram", "Ines", "Yuki"]
    done("restore", "--data", data, told[1].removeprefix("the previous records are kept in "))
    assert people(data) == ["Bram", "Ines", "Noor", "Yuki"]


def test_contract_an_export_is_imported_elsewhere(data: Path, tmp_path: Path) -> None:
    told = json.loads(done("export", "--data", data, tmp_path / "all.zip", "--json"))
    assert told["counts"]["people"] == 3
    assert json.loads(done("import", "--data", tmp_path / "new", tmp_path / "all.zip", "--json")) == {
        "counts": told["counts"]
    }
    assert people(tmp_path / "new") == people(data)
    result = run("import", "--data", data, tmp_path / "all.zip")
    assert isinstance(result.exception, ColdfieldError)


def contents(archive: zipfile.ZipFile) -> dict[str, Any]:
    found: dict[str, Any] = {name: archive.read(name) for name in archive.namelist()}
    found["manifest.json"] = json.loads(found["manifest.json"]) | {"made_utc": ""}
    return found


def test_contract_the_export_is_the_same_through_both_doors(data: Path, tmp_path: Path) -> None:
    done("export", "--data", data, tmp_path / "all.zip")
    with writing(Data(Folder(data)), who="a test") as database:
        answer = TestClient(create_app(database), base_url="http://127.0.0.1").get("/api/export")
    assert answer.headers["content-type"] == "application/zip"
    with zipfile.ZipFile(tmp_path / "all.zip") as one, zipfile.ZipFile(io.BytesIO(answer.content)) as other:
        assert contents(one) == contents(other)


def in_words(told: dict[str, Any]) -> dict[str, Any]:
    """Return the service's answer in the words and form of the command."""
    read = TypeAdapter(Message).validate_python
    counts = {
        key: {say(read(one["what"])): one["n"] for one in told[key]} for key in ("removed", "made_anonymous")
    }
    lists = {key: [say(read(one)) for one in told[key]] for key in ("to_look_at", "left_elsewhere")}
    return {**told, **counts, **lists}


def test_contract_forgetting_tells_the_same_through_both_doors(data: Path) -> None:
    backup = Path(done("backup", "--data", data).strip())
    with writing(Data(Folder(data)), who="a test") as database:
        client = TestClient(create_app(database, data=Data(Folder(data))), base_url="http://127.0.0.1")
        answer = in_words(client.post("/api/people/ines/forget", params={"dry_run": True}).json())
    assert json.loads(done("forget", "--data", data, "Ines", "--dry-run", "--json")) == answer
    assert answer["copies_that_still_hold_the_person"] == [str(backup)]
    assert people(data) == ["Bram", "Ines", "Yuki"]
    assert json.loads(done("forget", "--data", data, "Ines", "--yes", "--json")) == answer
    assert people(data) == ["Bram", "Yuki"]


def test_contract_forgetting_asks_first(data: Path) -> None:
    result = run("forget", "--data", data, "ines", answer="n\n")
    assert result.exit_code == 1
    assert people(data) == ["Bram", "Ines", "Yuki"]
    result = run("forget", "--data", data, "ines", answer="y\n")
    assert result.exit_code == 0
    assert "removed: 1 entry of the person" in result.stdout
    assert people(data) == ["Bram", "Yuki"]
