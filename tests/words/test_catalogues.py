"""One meaning, one code: the source, the pages and the catalogues of all languages agree."""

from __future__ import annotations

import re

import pytest
from babel.core import Locale

from codes import made, placeholders, said_by_pages
from coldfield.words import languages
from coldfield.words.languages import ABOUT, ENGLISH, parts_of
from coldfield.words.quantities import known

TAGS = tuple(languages())
OPENING = re.compile(r"(?:(?<=[\s(])|^)(['\"„«‹“‘])(?=[\w{])")
"""An opening quotation mark before a name."""


def words_of(tag: str):
    return {code: entry for part in parts_of(tag).values() for code, entry in part.items()}


@pytest.mark.parametrize("tag", TAGS)
def test_contract_every_code_that_is_made_has_words(tag: str) -> None:
    words = words_of(tag)
    assert len(made()) > 200
    assert {one.code: one.where for one in made() if one.code not in words} == {}


@pytest.mark.parametrize("tag", TAGS)
def test_contract_every_value_that_words_need_is_given(tag: str) -> None:
    words = words_of(tag)
    lacking = {
        (one.code, one.where): sorted(placeholders(words[one.code]) - one.values)
        for one in made()
        if one.values is not None and one.code in words and placeholders(words[one.code]) - one.values
    }
    assert lacking == {}


@pytest.mark.parametrize("tag", TAGS)
def test_contract_every_code_with_words_is_made_or_said(tag: str) -> None:
    codes = {one.code for one in made()}
    quoted, families = said_by_pages()
    assert "phase." in families
    unsaid = [
        code
        for code in words_of(tag)
        if code not in codes and code not in quoted and not code.startswith(families)
    ]
    assert unsaid == []


@pytest.mark.parametrize("tag", TAGS)
def test_contract_languages_say_the_same_with_the_same_values(tag: str) -> None:
    english, words = words_of(ENGLISH), words_of(tag)
    assert sorted(words) == sorted(english)
    rule = Locale.parse(known(languages()[tag].locale)).plural_form
    forms = {*rule.tags, "other"}
    # A plural form used only for whole millions, as in French, falls back to 'other'.
    needed = {"other", *map(rule, range(1000))}
    for code, entry in words.items():
        assert placeholders(entry) == placeholders(english[code]), code
        assert isinstance(entry, str) == isinstance(english[code], str), code
        if not isinstance(entry, str):
            assert needed <= set(entry) <= forms, code
            assert "n" in placeholders(entry), code
            assert all(entry.values()), code
        else:
            assert entry, code


@pytest.mark.parametrize("tag", TAGS)
def test_contract_a_code_stands_in_one_part_and_parts_are_alike(tag: str) -> None:
    parts = parts_of(tag)
    assert ABOUT.removesuffix(".json") not in parts
    assert {name: sorted(part) for name, part in parts.items()} == {
        name: sorted(part) for name, part in parts_of(ENGLISH).items()
    }
    assert sum(map(len, parts.values())) == len(words_of(tag))


@pytest.mark.parametrize("tag", TAGS)
def test_contract_names_stand_in_the_quotation_marks_of_their_language(tag: str) -> None:
    foreign = "„«‹" if tag == ENGLISH else "'“‘"
    opened = {
        code: set(OPENING.findall(text))
        for code, entry in words_of(tag).items()
        for text in ([entry] if isinstance(entry, str) else entry.values())
    }
    assert {code: marks for code, marks in opened.items() if marks & set(foreign)} == {}
    # Either low or angled quotation marks, not both.
    assert len(set().union(*opened.values()) & set("„«‹")) <= 1
