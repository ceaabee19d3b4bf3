"""The words contained in a single-file page."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import asdict
from typing import Any

from coldfield.files.one_page import embedded, not_built
from coldfield.words import catalogue, languages

_MARK = re.compile(r'<script type="application/json" id="words" data-parts="([a-z_ ]*)"></script>')


def words_mark(page: str, tags: Iterable[str], what: str, document: Any = None) -> tuple[str, str]:
    """Return the place for a page's words, and the same filled with the words of some languages.

    The page names the parts of the catalogues that it needs; the words for messages in its document
    are added.

    Parameters
    ----------
    page : str
        The built page.
    tags : iterable of str
        Languages, starting with the default one.
    what : str
        The name of the page, for the error.
    document : object, optional
        Values for JSON that contain messages.

    Raises
    ------
    Refused
        If the page has no such place.
    """
    found = _MARK.search(page)
    if found is None:
        raise not_built(what)
    parts = tuple(found[1].split())
    there = languages()
    codes = set(_codes(document))
    carried = []
    for tag in tags:
        said = {code: words for code, words in catalogue(tag).items() if code in codes}
        carried.append({**asdict(there[tag]), "words": {**catalogue(tag, parts), **said}})
    return found[0], embedded(found[0], carried, what, ascii_only=False)


def _codes(value: Any) -> Iterator[str]:
    """Yield the codes of all messages in a document."""
    if isinstance(value, Mapping):
        if isinstance(value.get("code"), str):
            yield value["code"]
        value = list(value.values())
    if isinstance(value, list | tuple):
        for inner in value:
            yield from _codes(inner)
