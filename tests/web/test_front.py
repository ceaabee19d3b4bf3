"""How the app's files and words are served, and to whom."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from fastapi.testclient import TestClient

from coldfield.web import front
from coldfield.words import catalogue, languages

pytestmark = pytest.mark.skipif(not front.built(), reason="the app is not built")


@pytest.fixture(scope="module")
def client() -> Iterator[TestClient]:
    from fastapi import FastAPI

    app = FastAPI()
    app.include_router(front.router())
    with TestClient(app) as client:
        yield client


def test_contract_the_largest_scripts_come_as_brotli_to_who_takes_it(client: TestClient) -> None:
    assert {"Shell", "StartPage", "DrillPage", "RunPage"} <= set(front._groups())
    scripts = [f"/app/{name}" for name in front._names() if name.endswith(".js")]
    large = [one for one in scripts if len(client.get(one).content) > 50_000]
    assert len(large) > 3
    for one in large:
        packed = client.get(one, headers={"accept-encoding": "gzip, br;q=0.9"})
        assert packed.headers["content-encoding"] == "br", one
        assert client.get(one, headers={"accept-encoding": "gzip"}).headers["content-encoding"] == "gzip"


def test_contract_every_word_comes_with_the_first_part_of_its_code(client: TestClient) -> None:
    for one in client.get("/app/words/languages.json").json():
        words = catalogue(one["tag"])
        came: dict[str, object] = {}
        for sort in {code.split(".")[0] for code in words}:
            answer = client.get(f"{one['address']}/{sort}.json", headers={"accept-encoding": "gzip"})
            assert "immutable" in answer.headers["cache-control"]
            came |= answer.json()
        assert came == dict(words)
    assert client.get(f"{one['address']}/nothing.json").json() == {}
    assert len(languages()) > 3
