"""Find records by words in names, labels and notes, ignoring case and accents."""

from __future__ import annotations

import unicodedata

from sqlalchemy import Boolean, ColumnElement, Dialect, Text, and_, cast, func, literal_column, select, true

from coldfield.records.kind import Kind

MOST_WORDS = 8
"""Words beyond this number are ignored. Setting."""

HOLDS = "coldfield_holds"
"""The name of `holds` in SQLite's statements."""

_COMBINING = "[\u0300-\u036f]"


def fold(text: str) -> str:
    """Return a text in lower case without accents, for comparing words.

    Examples
    --------
    >>> fold("Jürg, ÉCOLE")
    'jurg, ecole'
    """
    if text.isascii():
        return text.lower()
    parts = unicodedata.normalize("NFKD", text)
    return "".join(letter for letter in parts if not "\u0300" <= letter <= "\u036f").lower()


def holds(text: str, words: str) -> bool:
    """Return whether a text contains each of some folded words."""
    text = fold(text)
    return all(word in text for word in words.split())


def holds_words(kind: Kind, wanted: str, dialect: Dialect) -> ColumnElement[bool]:
    """Return the condition that a record contains every one of some words, each anywhere in its texts.

    Records are checked one by one in the order of their list until a page is full. With 3,000 runs this
    takes about 20 ms, and it grows with the records.

    Parameters
    ----------
    kind : Kind
        A kind that has `words`.
    wanted : str
        The words, separated by spaces; at most 8 count.
    dialect : Dialect
        The dialect of the database.
    """
    text = _text(kind)
    words = fold(wanted).split()[:MOST_WORDS]
    if dialect.name == "sqlite":
        found: ColumnElement[bool] = getattr(func, HOLDS)(text, " ".join(words), type_=Boolean)
        return found
    folded = _folded(text)
    return and_(true(), *(folded.contains(word, autoescape=True) for word in words))


def _text(kind: Kind) -> ColumnElement[str]:
    table = kind.table
    pieces: list[ColumnElement[str]] = [cast(table.c[name], Text) for name in kind.words]
    for reference, column in kind.words_beside.items():
        there = select(column).where(column.table.c.id == table.c[reference]).scalar_subquery()
        pieces.append(func.coalesce(there, ""))
    text = pieces[0]
    for piece in pieces[1:]:
        text = text.concat(" ").concat(piece)
    return text


def _folded(text: ColumnElement[str]) -> ColumnElement[str]:
    parts = func.normalize(text.collate("default"), literal_column("NFKD"))
    return func.lower(func.regexp_replace(parts, _COMBINING, "", "g"), type_=Text)
