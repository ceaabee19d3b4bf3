"""`coldfield serve`: its address, its refusals, its end."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from coldfield.app.records.reading import find
from coldfield.errors import BadInput, Refused
from coldfield.records.database import open_sqlite
from coldfield.records.folder import Folder
from coldfield.web.listening import listen


@contextmanager
def served(*arguments: str) -> Iterator[tuple[subprocess.Popen[str], str]]:
    """Run `coldfield serve`; yield the process and the address it prints."""
    with subprocess.Popen(
        [sys.executable, "-m", "coldfield", "serve", "--port", "0", *arguments],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    ) as process:
        assert process.stdout
        try:
            yield process, process.stdout.readline().strip()
        finally:
            process.kill()


def test_contract_serve_prints_its_address_keeps_records_and_ends_in_order(tmp_path: Path) -> None:
    with served("--data", str(tmp_path)) as (process, address):
        assert address.startswith("http://127.0.0.1:")
        put(address + "api/people/ines", b'{"name": "Ines"}')
        second = subprocess.run(
            [sys.executable, "-m", "coldfield", "serve", "--port", "0", "--data", str(tmp_path)],
            capture_output=True,
            text=True,
            timeout=60,
            check=False,
        )
        assert second.returncode == 2
        assert f"in use by the Coldfield at {address}" in second.stderr
        process.send_signal(signal.SIGINT)
        assert process.wait(timeout=20) == 0
    assert not (tmp_path / "coldfield.db-wal").exists(), "closed in order, the log is folded into the file"


def test_contract_the_command_itself_killed_loses_nothing(tmp_path: Path) -> None:
    with served("--data", str(tmp_path)) as (process, address):
        put(address + "api/people/ines", b'{"name": "Ines"}')
        os.kill(process.pid, signal.SIGKILL)
        process.wait(timeout=10)
    database = open_sqlite(Folder(tmp_path))
    assert find(database, "people", "ines")["name"] == "Ines"
    database.close()


def test_contract_a_network_address_is_refused() -> None:
    for host in ("0.0.0.0", "192.168.1.5", "::"):
        with pytest.raises(Refused, match="passphrase"):
            listen(host, 0)
    with pytest.raises(BadInput, match="is not an address"):
        listen("hut.example", 0)


def test_contract_a_taken_port_is_told_or_falls_to_a_free_one() -> None:
    with listen("127.0.0.1", 0) as taken:
        port = taken.getsockname()[1]
        with pytest.raises(Refused, match="--port"):
            listen("127.0.0.1", port)
        with listen("127.0.0.1", port, or_any=True) as free:
            assert free.getsockname()[1] != port


def put(address: str, body: bytes) -> None:
    request = urllib.request.Request(
        address, data=body, method="PUT", headers={"content-type": "application/json"}
    )
    assert urllib.request.urlopen(request, timeout=10).status == 201
