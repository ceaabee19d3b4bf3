"""The available languages: each is a folder, found when needed.

The folder of a language holds ``language.json`` and catalogues; `docs/languages.md` explains how to add one.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path

FOLDER = "COLDFIELD_WORDS"
"""The environment variable that names an additional folder of languages."""

ENGLISH = "en"
"""The language that has every word; whatever another language lacks is said in English."""

ABOUT = "language.json"

Entry = str | Mapping[str, str]
"""The words of a code: one text, or a text for each plural form of the language."""


@dataclass(frozen=True, slots=True)
class Language:
    """A language that has a catalogue.

    `tag` is the name of its folder, `name` its own name for itself, and `locale` sets its numbers, dates
    and plural forms.
    """

    tag: str
    name: str
    locale: str


def languages() -> Mapping[str, Language]:
    """Return every language by its tag, English first, then by tag."""
    return _languages(os.environ.get(FOLDER))


def language_of(tag: str) -> Language | None:
    """Return the language of a tag such as 'de-CH'; None if there is no catalogue for it.

    Examples
    --------
    >>> language_of("en-AU").tag, language_of("x-unknown")
    ('en', None)
    """
    there = languages()
    return there.get(tag) or there.get(tag.lower().replace("_", "-").split("-")[0])


def catalogue(tag: str, parts: tuple[str, ...] | None = None) -> Mapping[str, Entry]:
    """Return the words of a language by their codes; English ones where it lacks them.

    Parameters
    ----------
    tag : str
        A tag that `languages` has.
    parts : tuple of str, optional
        The names of the wanted files; by default all.
    """
    return _catalogue(os.environ.get(FOLDER), tag, parts)


def parts_of(tag: str) -> Mapping[str, Mapping[str, Entry]]:
    """Return the words of one language only, by their part."""
    return _parts(os.environ.get(FOLDER), tag)


@cache
def _catalogue(extra: str | None, tag: str, parts: tuple[str, ...] | None) -> Mapping[str, Entry]:
    own = _part_words(extra, tag, parts)
    return own if tag == ENGLISH else {**_part_words(extra, ENGLISH, parts), **own}


def _part_words(extra: str | None, tag: str, parts: tuple[str, ...] | None) -> dict[str, Entry]:
    there = _parts(extra, tag)
    chosen = there if parts is None else {name: there[name] for name in parts if name in there}
    return {code: entry for part in chosen.values() for code, entry in part.items()}


@cache
def _languages(extra: str | None) -> Mapping[str, Language]:
    return {tag: language for tag, (language, _) in _found(extra).items()}


@cache
def _parts(extra: str | None, tag: str) -> Mapping[str, Mapping[str, Entry]]:
    _, folder = _found(extra)[tag]
    names = sorted(one.name for one in folder.iterdir() if one.name.endswith(".json") and one.name != ABOUT)
    return {name.removesuffix(".json"): _read(folder.joinpath(name)) for name in names}


@cache
def _found(extra: str | None) -> Mapping[str, tuple[Language, Traversable]]:
    found = {language.tag: (language, folder) for language, folder in _look(files("coldfield.words"))}
    if extra:
        found |= {language.tag: (language, folder) for language, folder in _look(Path(extra))}
    order = sorted(found, key=lambda tag: (tag != ENGLISH, tag))
    return {tag: found[tag] for tag in order}


def _look(root: Traversable) -> Iterator[tuple[Language, Traversable]]:
    for folder in root.iterdir() if root.is_dir() else ():
        about = folder.joinpath(ABOUT)
        if folder.is_dir() and about.is_file():
            named = _read(about)
            yield Language(folder.name, str(named["name"]), str(named["locale"])), folder


def _read(path: Traversable) -> dict[str, Entry]:
    return dict(json.loads(path.read_text(encoding="utf-8")))
