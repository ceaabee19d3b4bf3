"""A person is found by name, address and number in any spelling, and distinguished from others and from chance."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coldfield.records.forget.fold import fold
from coldfield.records.forget.names import INSTEAD, Wanted, without


def said(text: str, name: str, contact: str = "", others: tuple[tuple[str, str], ...] = ()) -> str:
    """Return a text without sure mentions of the person, and with [...] around possible ones."""
    hits = Wanted(name, contact, others).hits(text)
    told = without(text, hits, "X")
    for hit in hits:
        if not hit.sure:
            told = told.replace(text[hit.start : hit.end], f"[{text[hit.start : hit.end]}]", 1)
    return told


@pytest.mark.parametrize(
    "text",
    [
        "Jürg Møller",
        "JÜRG MØLLER",
        "jürg\u00a0 møller",
        "Jürg\nMøller",
        "Jürg_Møller",
        "JürgMøller",
        "Møller, Jürg",
        "J&#252;rg M&#xF8;ller",
        "J%C3%BCrg%20M%C3%B8ller",
        "J\\u00fcrg M\\u00f8ller",
        "J\u00ad\u00fcrg Møller",
    ],
)
@pytest.mark.parametrize("normal", ["NFC", "NFD"])
def test_contract_a_name_is_found_however_it_is_spelt(text: str, normal: str) -> None:
    text = unicodedata.normalize(normal, text)
    assert said(f"so {text}'s run", "Jürg  Møller") == "so X's run"
    assert said(f"{text}2.gpx", "Jürg Møller") == "X2.gpx"


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("Jurg Moller came", "[Jurg Moller] came"),
        ("Juerg Moeller came", "[Juerg Moeller] came"),
        ("Jürg came", "[Jürg] came"),
        ("TrackJürgMøllerUp", "Track[JürgMøller]Up"),
        ("Jürg Møllers Spur", "[Jürg Møllers] Spur"),
    ],
)
def test_contract_what_may_be_the_name_is_not_taken_for_it(text: str, told: str) -> None:
    assert said(text, "Jürg Møller") == told


@pytest.mark.parametrize(
    ("name", "text", "told"),
    [
        ("Pia", "Piano and Olympia", "Piano and Olympia"),
        ("Pia", "PIA and Pia, pia", "X and X, [pia]"),
        ("Al", "Al digs, al dente, value", "X digs, [al] dente, value"),
        ("Al", "al.gpx", "X.gpx"),
        ("O'Brien", "O’Brien, obrien, O Brien", "X, X, X"),
        ("Anne-Marie", "Anne Marie, ANNEMARIE", "X, X"),
        ("J. R. Falk", "J R Falk and J.R.Falk", "X and X"),
        ("Guest 1", "Guest 12 and guest_1", "Guest 12 and X"),
        ("山田", "昨日山田が来た", "昨日Xが来た"),
        ("(?)", "so (?) it is", "so X it is"),
    ],
)
def test_contract_short_names_and_signs(name: str, text: str, told: str) -> None:
    assert said(text, name).replace("[Guest]", "Guest") == told


def test_contract_somebody_elses_longer_name_is_theirs() -> None:
    others = (("Ines Falk", ""), ("Bram", ""))
    assert Wanted("Ines", "", others).shared
    assert not Wanted("Ines", "", (("Inesita", ""),)).shared
    assert said("INES FALK and Ines", "Ines", "", others) == "INES FALK and X"


def test_contract_addresses_and_numbers_are_found_as_people_write_them() -> None:
    contact = "+47 900 00 123, Runa@Hollow-Larch.example"
    text = "call 90000123 or +47 900-00-123 or runa@hollow-larch.example; not 900001234"
    assert said(text, "Rúna", contact) == "call X or X or X; not 900001234"
    others = (("Bram", "runa@hollow-larch.example"),)
    assert said("runa@hollow-larch.example", "Q", contact, others) == "[runa@hollow-larch.example]"
    assert said("reach me by radio", "Q", "by radio") == "reach me [by radio]"
    assert said("at 12 m", "Q", "12 m") == "at 12 m"


@given(st.text(max_size=60), st.text(max_size=60))
def test_property_a_name_set_into_any_text_is_taken_out_again(before: str, after: str) -> None:
    text = f"{before} Rúna Fálk {after}"
    wanted = Wanted("Rúna Fálk", "", ())
    left = without(text, wanted.hits(text))
    assert INSTEAD in left
    assert not any(hit.sure for hit in wanted.hits(left))


@given(st.text(max_size=80))
def test_property_every_place_of_a_folded_text_leads_back_into_its_source(text: str) -> None:
    folded = fold(text)
    for i in range(len(folded.text)):
        start, end = folded.span(i, i + 1)
        assert 0 <= start < end <= len(text)
        assert folded.text[i] in fold(text[start:end]).text
