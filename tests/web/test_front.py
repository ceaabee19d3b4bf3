"""What the app's files and words are given out as, and to whom."""

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


def test_contract_words_of_pages_are_packed_as_brotli_for_who_takes_it(client: TestClient) -> None:
    groups = front._groups()
    assert {"Shell", "StartPage", "DrillPage", "RunPage"} <= set(groups)
    for one in client.get("/app/words/languages.json").json():
        for group in groups:
            address = f"{one['address']}/{group}.json"
            packed = client.get(
                address, headers={"accept-encoding": "gzip, br;q=0.9"}, follow_redirects=False
            )
            assert packed.headers.get("content-encoding") == "br", address


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
