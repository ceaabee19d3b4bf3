"""The service really shared on this machine: started from the page, over TLS, and with half-sent requests."""

from __future__ import annotations

import http.client
import socket
import ssl
import subprocess
import threading
import urllib.parse
from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path

import pytest
from click.testing import CliRunner

from coldfield.cli.serve import command
from coldfield.errors import BadInput, Refused
from coldfield.records.database import Database
from coldfield.web.app import create_app
from coldfield.web.connection import Connection
from coldfield.web.hut.gate import Hut, Shared
from coldfield.web.hut.sharing import Sharing
from coldfield.web.listening import Tls, address, is_loopback, listen
from coldfield.web.serving import make_server
from huts import CHEAP, PASSPHRASE, Clock, Entrance

Answer = tuple[int, http.client.HTTPMessage, str]


@contextmanager
def served(database: Database, *, tls: Tls | None = None, shared: bool = False) -> Iterator[str]:
    """Serve records on a free port, in a thread; shared from the start or from the page."""
    ready = threading.Event()
    sharing = Sharing(partial(make_server, ready=lambda: None, tls=tls, alone=False), tls=tls)
    app = create_app(database, sharing=sharing)
    with listen("127.0.0.1", 0) as listener:
        where = address(listener, secret=tls is not None)
        hut = Hut(Entrance(PASSPHRASE, clock=Clock(), hasher=CHEAP), where)
        asked = Shared(app, hut) if shared else app
        server = make_server(asked, ready=ready.set, tls=tls, sharing=sharing)
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]})
        thread.start()
        assert ready.wait(20)
        try:
            yield where
        finally:
            server.should_exit = True
            thread.join(20)


def ask(where: str, path: str, form: dict[str, str] | None = None, **headers: str) -> Answer:
    place = urllib.parse.urlsplit(where)
    if place.scheme == "https":
        # The certificate of a test is unsigned.
        context = ssl.create_default_context()
        context.check_hostname, context.verify_mode = False, ssl.CERT_NONE
        connection: http.client.HTTPConnection = http.client.HTTPSConnection(
            place.netloc, timeout=10, context=context
        )
    else:
        connection = http.client.HTTPConnection(place.netloc, timeout=10)
    try:
        sent = None if form is None else urllib.parse.urlencode(form)
        told = {"Origin": where.rstrip("/"), **headers} if form is not None else headers
        connection.request("GET" if form is None else "POST", path, sent, told)
        answer = connection.getresponse()
        return answer.status, answer.headers, answer.read().decode()
    finally:
        connection.close()


def enter(where: str, passphrase: str) -> str:
    """Type the passphrase; return the cookies."""
    status, headers, _ = ask(where, "/login", {"passphrase": passphrase})
    assert status == 303
    return "; ".join(cookie.partition(";")[0] for cookie in headers.get_all("set-cookie") or [])


def test_contract_sharing_is_begun_and_ended_from_the_page(database: Database) -> None:
    with served(database) as where:
        for host, passphrase, wrong in (
            ("127.0.0.1", "short", "10 to 200"),
            ("no such host", PASSPHRASE, "is not an address"),
            ("192.0.2.77", PASSPHRASE, "cannot be used"),
        ):
            status, _, page = ask(where, "/service/share", {"host": host, "passphrase": passphrase})
            assert status == 422
            assert wrong in page
            assert passphrase not in page
        status, _, _ = ask(
            where,
            "/service/share",
            {"host": "127.0.0.1", "passphrase": PASSPHRASE},
            Origin="http://evil.example",
        )
        assert status == 403
        assert "Stop sharing" not in ask(where, "/service")[2]
        assert ask(where, "/service/share", {"host": "127.0.0.1", "passphrase": PASSPHRASE})[0] == 303
        page = ask(where, "/service")[2]
        shared = page.partition('Shared at <a href="')[2].partition('"')[0]
        assert shared.startswith("http://127.0.0.1:")
        assert shared != where
        assert "<svg" in page
        assert "read the passphrase" in page
        assert ask(shared, "/api/people")[0] == 401
        assert ask(where, "/api/people")[0] == 200
        cookies = enter(shared, PASSPHRASE)
        assert ask(shared, "/api/people", Cookie=cookies)[0] == 200
        # People from the network can neither stop it nor see another address.
        assert ask(shared, "/service/unshare", {}, Cookie=cookies)[0] == 404
        assert "Stop sharing" not in ask(shared, "/service", Cookie=cookies)[2]
        assert ask(where, "/service/unshare", {})[0] == 303
        with pytest.raises(ConnectionRefusedError):
            ask(shared, "/login")
        assert ask(where, "/api/people")[0] == 200


@pytest.fixture(scope="module")
def certificate(tmp_path_factory: pytest.TempPathFactory) -> Tls:
    folder = tmp_path_factory.mktemp("certificate")
    subprocess.run(
        ["openssl", "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1", "-nodes",
         "-keyout", folder / "key.pem", "-out", folder / "cert.pem", "-days", "2", "-subj", "/CN=hut.example"],
        check=True, capture_output=True,
    )  # fmt: skip
    return Tls(folder / "cert.pem", folder / "key.pem")


def test_contract_over_tls_the_way_in_is_secret(database: Database, certificate: Tls) -> None:
    with served(database, tls=certificate, shared=True) as where:
        assert where.startswith("https://")
        status, headers, page = ask(where, "/login")
        assert status == 200
        assert "others on this network" not in page
        status, headers, _ = ask(where, "/login", {"passphrase": PASSPHRASE})
        assert all("Secure" in cookie for cookie in headers.get_all("set-cookie") or [""])
        with pytest.raises((OSError, http.client.HTTPException)):
            ask(where.replace("https:", "http:"), "/login")


def test_contract_a_certificate_that_cannot_be_used_is_told_before_anything_is_served(
    certificate: Tls, tmp_path: Path
) -> None:
    certificate.check()
    (tmp_path / "no.pem").write_text("no certificate")
    for tls, wrong in (
        (Tls(tmp_path / "none.pem"), "there is no such file"),
        (Tls(certificate.cert, tmp_path / "none.pem"), "there is no such file"),
        (Tls(tmp_path / "no.pem"), "cannot be used as a certificate"),
        (Tls(certificate.cert), "cannot be used as a certificate"),
        (Tls(certificate.cert, certificate.cert), "cannot be used as a certificate"),
    ):
        with pytest.raises(BadInput, match=wrong):
            tls.check()


def test_contract_serving_a_network_needs_a_passphrase(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("COLDFIELD_PASSPHRASE", raising=False)
    for host in ("0.0.0.0", "192.168.1.5", "::"):
        found = CliRunner().invoke(command, ["--data", str(tmp_path), "--host", host, "--port", "0"])
        assert isinstance(found.exception, Refused)
        assert "passphrase" in str(found.exception)
    monkeypatch.setenv("COLDFIELD_PASSPHRASE", "short")
    found = CliRunner().invoke(command, ["--data", str(tmp_path), "--host", "127.0.0.1", "--port", "0"])
    assert isinstance(found.exception, BadInput)
    assert CliRunner().invoke(command, ["--key", "key.pem"]).exit_code == 2
    assert [is_loopback(host) for host in ("localhost", "127.0.0.9", "::1", "0.0.0.0", "192.168.1.5")] == [
        True
    ] * 3 + [False] * 2


def test_contract_half_sent_requests_are_closed_in_the_hut_too(
    database: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(Connection, "head_s", 0.3)
    with served(database, shared=True) as where:
        host = urllib.parse.urlsplit(where)
        for begun in (b"", b"GET /login HT", b"POST /api/hut/day HTTP/1.1\r\nHost: x"):
            with socket.create_connection((str(host.hostname), host.port or 0), timeout=10) as line:
                line.sendall(begun)
                assert line.recv(1000) == b""
