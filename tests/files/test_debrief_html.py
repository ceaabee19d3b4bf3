from __future__ import annotations

import base64
import hashlib
import json
import re
from html.parser import HTMLParser

import pytest
from hypothesis import given
from hypothesis import strategies as st

from amount import examples
from coldfield.app.answers import plain
from coldfield.debrief.document import DebriefDocument, DebriefedSearcher, DebriefedSite, DebriefedTrack
from coldfield.errors import BadInput, Refused, UnknownRecord
from coldfield.files import one_page
from coldfield.files.debrief_html import debrief_html
from coldfield.message import length, message
from coldfield.words import catalogue
from coldfield.words.languages import parts_of

GROUND = DebriefedSite(boundary_m=((0.0, 0.0), (9.0, 0.0), (9.0, 9.0)))

TEMPLATE = (
    '<!doctype html><html><head><meta name="coldfield-policy" /><title>Debrief</title>'
    "<style>p { color: red }</style></head><body>"
    '<script type="application/json" id="words" data-parts="figures"></script>'
    '<script type="application/json" id="debrief-document"></script>'
    '<script type="module">document.title = "<\\/script>"</script></body></html>'
)


class _Page(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.texts: list[str] = []

    def handle_starttag(self, tag: str, attrs: object) -> None:
        self.tags.append(tag)
        self.texts.append("")

    def handle_data(self, data: str) -> None:
        if self.texts:
            self.texts[-1] += data


def _parsed(page: str) -> _Page:
    parser = _Page()
    parser.feed(page)
    parser.close()
    return parser


def _embedded(page: _Page) -> str:
    """The text of the second script: the first one contains words, this one the debrief."""
    return [text for tag, text in zip(page.tags, page.texts, strict=True) if tag == "script"][1]


HOSTILE = st.lists(
    st.sampled_from(["<", ">", "/", "script", "!--", "-->", "&lt;", "\u2028", '"', "'", "\\", "é"])
).map("".join)


@given(title=HOSTILE, name=HOSTILE)
@examples(60)
def test_property_no_name_breaks_out_and_every_name_comes_back(title: str, name: str) -> None:
    person = DebriefedSearcher(id="s1", name=name + "</script><script>alert(1)</script>")
    document = DebriefDocument(title=title, site=GROUND, searchers=(person,))

    page = _parsed(debrief_html(document, TEMPLATE).encode().decode())

    assert page.tags == _parsed(TEMPLATE).tags
    assert json.loads(_embedded(page)) == plain(document)


def test_independent_route_policy_names_the_hash_of_each_script_and_style() -> None:
    # The W3C's Content Security Policy Level 3, section 2.3.1: base64 of the SHA-256 of the element's text.
    page = debrief_html(DebriefDocument(site=GROUND), TEMPLATE)
    policy = re.search(r'Content-Security-Policy" content="([^"]*)"', page)
    assert policy is not None
    for text in ('document.title = "<\\/script>"', "p { color: red }"):
        digest = base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()
        assert f"'sha256-{digest}'" in policy[1]
    assert policy[1].startswith("default-src 'none'")
    assert "unsafe" not in policy[1]


def test_contract_a_debrief_without_its_ground_is_refused() -> None:
    with pytest.raises(BadInput, match="site: is missing"):
        debrief_html(DebriefDocument(), TEMPLATE)


def test_contract_a_number_that_is_not_finite_is_null_in_the_page() -> None:
    track = DebriefedTrack(length_m=float("nan"))
    document = DebriefDocument(site=GROUND, searchers=(DebriefedSearcher(id="s1", track=track),))
    page = _parsed(debrief_html(document, TEMPLATE))
    (person,) = json.loads(_embedded(page))["searchers"]
    assert person["track"]["length_m"] is None


@pytest.mark.parametrize("template", ["", "<html></html>", TEMPLATE + TEMPLATE])
def test_contract_a_template_that_is_not_the_page_is_refused(template: str) -> None:
    with pytest.raises(Refused, match="make front"):
        debrief_html(DebriefDocument(site=GROUND), template)


def test_contract_an_unbuilt_page_is_told_with_its_remedy(
    monkeypatch: pytest.MonkeyPatch, tmp_path: object
) -> None:
    monkeypatch.setattr(one_page.resources, "files", lambda package: tmp_path)
    with pytest.raises(UnknownRecord, match="make front"):
        debrief_html(DebriefDocument(site=GROUND))


def test_contract_a_page_carries_the_words_of_its_own_messages_and_no_others() -> None:
    track = DebriefedTrack(notes=(message("note.stood_off", accuracy=length(3.2)),))
    document = DebriefDocument(
        title="Run", site=GROUND, searchers=(DebriefedSearcher(id="s1", name="Ines", track=track),)
    )
    page = _parsed(debrief_html(document, TEMPLATE, language="de"))
    (language,) = json.loads(next(t for tag, t in zip(page.tags, page.texts, strict=True) if tag == "script"))
    assert (language["tag"], language["words"]["note.stood_off"]) == ("de", catalogue("de")["note.stood_off"])
    assert set(language["words"]) == {*parts_of("de")["figures"], "note.stood_off"}
