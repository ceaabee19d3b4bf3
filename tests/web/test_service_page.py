"""The page about the service lists exactly the existing addresses."""

from __future__ import annotations

import re
from html import unescape
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from coldfield.message import day
from coldfield.records.kinds import KINDS
from coldfield.web.page import accepted, plain_page
from coldfield.words import catalogue, languages, speaking, word

PAGE = Path(__file__).parents[2] / "docs" / "service.md"
OTHERS = sorted(set(languages()) - {"en"})


def test_contract_every_address_stands_on_the_page_about_the_service(client: TestClient) -> None:
    told = set(re.findall(r"^\| `([A-Z]+ /api/[^`]+)` \|", PAGE.read_text(), re.MULTILINE))
    there = set()
    for path, operations in client.get("/api/openapi.json").json()["paths"].items():
        _, _, kind, *rest = path.split("/")
        name, dot, ending = kind.partition(".")
        whole = name in KINDS and rest in ([], ["{record_id}"], ["{record_id}", "file"])
        address = "/".join(["/api/{kind}" + dot + ending, *rest]) if whole else path
        there |= {f"{method.upper()} {address}" for method in operations}
    assert told == there


def plain_text(page: str) -> str:
    return unescape(re.sub(r"<code>.*?</code>|<[^>]+>", " ", page, flags=re.DOTALL))


def english_words(page: str) -> list[str]:
    """Return the lines of a page that are in the English catalogue."""
    ours = catalogue("en", ("service_page",)).values()
    return [text for text in map(str, ours) if "{" not in text and text in plain_text(page)]


@pytest.mark.parametrize("language", OTHERS)
def test_contract_the_plain_page_speaks_the_language_of_its_address_or_its_browser(
    client: TestClient, language: str
) -> None:
    for address, accepts in (
        (f"/service?language={language}", "en"),
        ("/service", f"en;q=0.3, {language}-XY"),
        ("/service?language=x-unknown", f"x-unknown, {language};q=0.1"),
    ):
        answer = client.get(address, headers={"accept-language": accepts})
        assert f'<html lang="{language}">' in answer.text
        assert answer.headers["content-language"] == language
        assert str(catalogue(language)["service_page.title"]) in plain_text(answer.text)
        assert english_words(answer.text) == []


@pytest.mark.parametrize("accepts", ["", "x-unknown", "*", "de;q=0", "en-AU, de;q=0.9", ";;,=;q"])
def test_contract_the_plain_page_speaks_english_to_everybody_else(client: TestClient, accepts: str) -> None:
    answer = client.get("/service", headers={"accept-language": accepts})
    assert answer.status_code == 200
    assert '<html lang="en">' in answer.text
    assert "What runs here?" in english_words(answer.text)


def test_from_memory_languages_are_weighed_as_the_standard_for_http_has_them() -> None:
    # The example of RFC 9110, 12.5.4, 'da, en-gb;q=0.8, en;q=0.7': Danish, else British, else any
    # English. From memory.
    assert accepted("da, en-gb;q=0.8, en;q=0.7") == ["da", "en-gb", "en"]
    assert accepted("en;q=0.7, en-gb;q=0.8, da") == ["da", "en-gb", "en"]


def test_contract_the_links_of_debriefs_keep_day_and_language() -> None:
    with speaking("de"):
        links = {"/debriefs/x": word("service_page.debrief", drill="A & B", day=day("2026-02-07"))}
        page = plain_page(place="records.db", links=links, language="de")
    assert '<a href="/debriefs/x?language=de">A &amp; B: 7. Februar 2026</a>' in page
