"""The shared service without a network: requests have the address that they came to."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager

from argon2 import PasswordHasher
from fastapi import FastAPI
from starlette.testclient import TestClient

from coldfield.app.hut.entrance import Entrance
from coldfield.web.hut.gate import Hut, Shared

HERE = "192.168.7.20:8457"
PASSPHRASE = "three larches and a gully"
CHEAP = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)
"""The same function at low cost."""


class Clock:
    """A clock that a test advances."""

    def __init__(self) -> None:
        self.now_s = 1000.0

    def __call__(self) -> float:
        return self.now_s


@contextmanager
def hut_client(
    app: FastAPI,
    *,
    secret: bool = False,
    clock: Callable[[], float] | None = None,
    phone: str = "192.168.7.30",
) -> Iterator[TestClient]:
    """Yield a browser in the hut's network."""
    scheme = "https" if secret else "http"
    hut = Hut(Entrance(PASSPHRASE, clock=clock or Clock(), hasher=CHEAP), f"{scheme}://{HERE}/")
    with_hut = Shared(app, hut)
    yield TestClient(
        with_hut,
        base_url=f"{scheme}://{HERE}",
        raise_server_exceptions=False,
        follow_redirects=False,
        client=(phone, 50000),
    )


def enter(client: TestClient, passphrase: str = PASSPHRASE, to: str = "") -> int:
    """Type the passphrase; return the status of the answer."""
    return int(client.post("/login", data={"passphrase": passphrase, "to": to}).status_code)
