"""A half-sent request is closed after a while, a slow one that continues is not; over real connections."""

from __future__ import annotations

import http.client
import json
import socket
import threading
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager

import pytest
from fastapi import FastAPI

from coldfield.records.database import Database
from coldfield.web import connection, guard
from coldfield.web.app import create_app
from coldfield.web.listening import listen
from coldfield.web.serving import make_server

SILENT_S = 0.3
SLOW_S = 0.9
PUT = b"PUT /api/people/x HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Type: application/json\r\n"


@pytest.fixture
def port(database: Database, monkeypatch: pytest.MonkeyPatch) -> Iterator[int]:
    monkeypatch.setattr(connection.Connection, "head_s", SILENT_S)
    monkeypatch.setattr(connection.Connection, "rest_s", SILENT_S)
    monkeypatch.setattr(guard.Guard.__init__, "__defaults__", (SILENT_S, SLOW_S))
    monkeypatch.setattr(guard, "SLOW_BYTES_PER_S", 20.0)
    # A server configures the log of its process; restore the tests' own log.
    monkeypatch.setattr(guard.log, "handlers", [])
    for name in ("level", "propagate"):
        monkeypatch.setattr(guard.log, name, getattr(guard.log, name))
    with answering(create_app(database)) as found:
        yield found


@contextmanager
def answering(app: FastAPI) -> Iterator[int]:
    """Answer on a free port in a thread."""
    begun = threading.Event()
    with listen("127.0.0.1", 0) as listener:
        server = make_server(app, ready=begun.set)
        thread = threading.Thread(target=server.run, args=([listener],))
        thread.start()
        assert begun.wait(20)
        try:
            yield listener.getsockname()[1]
        finally:
            server.should_exit = True
            thread.join(timeout=20)


def answer_to(port: int, pieces: list[bytes], pause_s: float) -> bytes:
    """Send pieces with a pause before each except the first; return the answer until the other side closes."""
    with socket.create_connection(("127.0.0.1", port), timeout=20) as link:
        for number, piece in enumerate(pieces):
            time.sleep(pause_s if number else 0)
            try:
                link.sendall(piece)
            except OSError:
                break
        return until_closed(link)


def until_closed(link: socket.socket) -> bytes:
    came = b""
    try:
        while piece := link.recv(65536):
            came += piece
    except ConnectionResetError:
        pass
    return came


@pytest.mark.parametrize(
    "begun",
    [b"", b"G", PUT, PUT + b"X-Half: 1", b"GET /api/people HTTP/1.1\r\nHost: 127.0.0.1\r\n"],
)
def test_contract_a_head_that_never_ends_is_closed(port: int, begun: bytes) -> None:
    assert answer_to(port, [begun], 0) == b""


def test_contract_a_head_that_comes_in_drops_is_closed(port: int) -> None:
    assert answer_to(port, [PUT, *[b"X-A: 1\r\n"] * 40], 0.05) == b""


def test_contract_a_second_request_half_sent_is_closed(port: int) -> None:
    whole = b"GET /api/people HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n"
    came = answer_to(port, [whole + PUT], 0)
    assert came.count(b"HTTP/1.1 ") == 1
    assert b" 200 " in came.splitlines()[0]


@pytest.mark.parametrize(
    "length", [b"Content-Length: 500\r\n\r\n", b"Transfer-Encoding: chunked\r\n\r\n1f4\r\n"]
)
def test_contract_a_body_that_never_comes_is_told_and_closed(port: int, length: bytes) -> None:
    came = answer_to(port, [PUT + length + b'{"name": "No'], 0)
    head, _, body = came.partition(b"\r\n\r\n")
    assert head.startswith(b"HTTP/1.1 408")
    assert b"connection: close" in head.lower()
    assert json.loads(body)["detail"] == "the rest of this request did not arrive in time; send it again"


def test_contract_a_body_that_comes_in_drops_is_told_and_closed(port: int) -> None:
    came = answer_to(port, [PUT + b"Content-Length: 500\r\n\r\n", *[b" "] * 100], 0.1)
    assert came.startswith(b"HTTP/1.1 408")


def test_contract_an_upload_that_is_slow_but_goes_on_is_kept(port: int) -> None:
    body = json.dumps({"name": "Noor", "notes": "x" * 300}).encode()
    pieces = [body[i : i + 10] for i in range(0, len(body), 10)]
    head = PUT + f"Connection: close\r\nContent-Length: {len(body)}\r\n\r\n".encode()
    began = time.monotonic()
    came = answer_to(port, [head, *pieces], 0.06)
    assert came.startswith(b"HTTP/1.1 201"), came
    assert time.monotonic() - began > SLOW_S, "longer than a slow one may take that brings less"


@pytest.mark.parametrize("host", [b"127.0.0.1", b"evil.example"])
def test_contract_the_rest_of_an_answered_request_is_not_awaited_for_ever(port: int, host: bytes) -> None:
    head = b"POST /api/jobs/none/cancel HTTP/1.1\r\nHost: " + host + b"\r\nContent-Length: 500\r\n\r\n"
    came = answer_to(port, [head, *[b" "] * 40], 0.05)
    assert came.startswith((b"HTTP/1.1 404", b"HTTP/1.1 421"))


def test_contract_an_event_stream_and_a_kept_connection_outlast_the_limits(port: int) -> None:
    link = http.client.HTTPConnection("127.0.0.1", port, timeout=20)
    with closing(link):
        for _ in range(3):
            link.request("GET", "/api/people")
            kept = link.sock
            answer = link.getresponse()
            assert answer.status == 200
            answer.read()
            assert link.sock is kept
            time.sleep(2 * SILENT_S)
