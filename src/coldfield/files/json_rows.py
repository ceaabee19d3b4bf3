"""A JSON list read row by row: no more of it is held than one row and the piece it came in."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator
from typing import Any, NoReturn

from coldfield.files.json_text import whole, writable

MOST_ROW = 4_000_000
"""Letters of the longest row. Setting."""

_SPACE = re.compile(r"[ \t\n\r]*")


def json_rows(pieces: Iterable[str]) -> Iterator[Any]:
    """Yield the values of a JSON list from the pieces of its text, cut anywhere.

    Raises
    ------
    ValueError
        If it is no JSON list, holds NaN, Infinity or half a letter, or a row is longer than four million
        letters.

    Examples
    --------
    >>> list(json_rows(['[{"a": 1', '2}, 3', '4]']))
    [{'a': 12}, 34]
    """
    text = _Text(pieces)
    text.expect("[")
    if text.next() == "]":
        text.at += 1
    else:
        yield text.value()
        while text.next() == ",":
            text.at += 1
            yield text.value()
        text.expect("]")
    if text.next():
        raise ValueError("end")


class _Text:
    """The part of the text that is not read yet, from `at` on."""

    def __init__(self, pieces: Iterable[str]) -> None:
        self.at = 0
        self._pieces = iter(pieces)
        self._text = ""
        self._decoder = json.JSONDecoder(parse_int=whole, parse_constant=_no_constant)

    def next(self) -> str:
        """The next sign that is no space; '' at the end."""
        while True:
            space = _SPACE.match(self._text, self.at)
            self.at = space.end() if space else self.at
            if self.at < len(self._text) or not self._more(1):
                return self._text[self.at : self.at + 1]

    def expect(self, sign: str) -> None:
        if self.next() != sign:
            raise ValueError(sign)
        self.at += 1

    def value(self) -> Any:
        self.next()
        while True:
            try:
                value, end = self._decoder.raw_decode(self._text, self.at)
            except json.JSONDecodeError:
                end = len(self._text)
            # A number that the piece cuts would be read as a shorter one.
            if end < len(self._text):
                if "\\u" in self._text:
                    writable(value)
                self.at = end
                return value
            held = len(self._text) - self.at
            if held > MOST_ROW:
                raise ValueError("row")
            if not self._more(held):
                value, self.at = self._decoder.raw_decode(self._text, self.at)
                return value

    def _more(self, least: int) -> bool:
        """Take in pieces until there are `least` letters more; False where there is none."""
        taken: list[str] = []
        count = 0
        for piece in self._pieces:
            taken.append(piece)
            count += len(piece)
            if count >= least:
                break
        self._text = "".join([self._text[self.at :], *taken])
        self.at = 0
        return count > 0


def _no_constant(word: str) -> NoReturn:
    raise ValueError(word)
