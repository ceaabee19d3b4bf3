"""JSON text to plain values, strictly: no repeated keys, no NaN, limited size and depth."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator
from typing import Any, NoReturn

from coldfield.errors import BadInput
from coldfield.message import Message, message, size, verbatim

MOST_BYTES = 5_000_000
MOST_VALUES = 200_000
"""Most values in a drill or a ground; the largest has 40,000. Setting."""

MOST_DEPTH = 64
"""Deepest nesting of lists and objects; none of our formats goes beyond ten. Setting."""

MOST_DIGITS = 300
"""Most digits of a whole number; the largest float has 309."""

_TEXT = re.compile(r'"(?:[^"\\]++|\\.)*+"', re.DOTALL)
"""Possessive, because backtracking would need memory for each character."""
_MAY_GO_ON = re.compile(r"[-+.0-9eE]*\Z")
_SPACE = re.compile(r"[ \t\n\r]*+")
_OTHER = re.compile(r"[^\[\]{}]+")


def decode_text(data: bytes, source: str, *, most_bytes: int = MOST_BYTES) -> str:
    """Return the text of a UTF-8 file, with or without a byte order mark.

    Raises
    ------
    BadInput
        If the file is empty, larger than `most_bytes` or not UTF-8.
    """
    if len(data) > most_bytes:
        raise BadInput(message("fault.too_large", size=size(len(data)), most=size(most_bytes)), source)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise BadInput(message("fault.not_utf8", byte=str(error.start)), source) from None
    if not text.strip():
        raise BadInput(message("fault.empty"), source)
    return text


def parse_json(text: str, source: str, *, most_values: int = MOST_VALUES) -> Any:
    """Return the plain value that a JSON text describes; its values are counted before they are built.

    Raises
    ------
    BadInput
        If the text is not JSON, repeats a key within one object, contains NaN, Infinity or a lone
        surrogate, is nested too deeply, or has more values than `most_values`.
    """
    if sum(map(text.count, ",[{")) > most_values:
        raise BadInput(message("fault.too_many_values", n=most_values), source)
    if depth_of(text) > MOST_DEPTH:
        raise BadInput(message("fault.nested"), source)
    try:
        value = _STRICT.decode(text)
        _refuse_halves(value, text)
    except json.JSONDecodeError as error:
        where = message("place.line_column", line=str(error.lineno), column=str(error.colno))
        raise BadInput(message("fault.not_json", why=verbatim(error.msg)).at(where), source) from None
    except RecursionError:
        raise BadInput(message("fault.nested"), source) from None
    except BadInput as error:
        raise BadInput(error.faults, source) from None
    return value


def depth_of(text: str) -> int:
    """Return how deeply the lists and objects of a JSON text are nested.

    Brackets within strings do not count; if it is not JSON, the answer has no meaning.
    """
    deep = most = 0
    for sign in _OTHER.sub("", _TEXT.sub("", text)):
        deep += 1 if sign in "[{" else -1
        most = max(most, deep)
    return most


def whole(digits: str) -> int | float:
    """Return the number for some digits; infinity if it is too large for a float."""
    return int(digits) if len(digits) <= MOST_DIGITS else float(digits)


def _no_repeats(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    seen: dict[str, Any] = {}
    for key, value in pairs:
        if key in seen:
            raise BadInput(message("fault.key_twice", key=key[:60]))
        seen[key] = value
    return seen


def _no_constants(word: str) -> NoReturn:
    raise BadInput(message("fault.not_finite", word=word))


def _refuse_halves(value: Any, text: str) -> None:
    """Refuse a lone surrogate, which cannot be encoded."""
    if "\\u" not in text:
        return
    try:
        json.dumps(value, ensure_ascii=False).encode()
    except UnicodeEncodeError:
        raise BadInput(message("fault.half_letter")) from None


_STRICT = json.JSONDecoder(object_pairs_hook=_no_repeats, parse_constant=_no_constants, parse_int=whole)


def each_value(pieces: Iterable[str], source: str, *, most_letters: int = MOST_BYTES) -> Iterator[Any]:
    """Yield the values of one JSON list, one after the other, while its text arrives in pieces.

    Parameters
    ----------
    pieces : iterable of str
        The text in any pieces; only one piece and one value are in memory at a time.
    source : str
        The name of the text, for faults.
    most_letters : int
        The longest single value, in characters.

    Raises
    ------
    BadInput
        If the text is not a JSON list, or if `parse_json` refuses a value in it.
    """
    try:
        yield from _ListReader(iter(pieces), most_letters).values()
    except RecursionError:
        raise BadInput(message("fault.nested"), source) from None
    except _NotAList as error:
        raise BadInput(message("fault.not_a_list", why=error.why), source) from None


class _NotAList(Exception):
    """The reason why a text is not a list; other faults, from the source of the text, pass through."""

    def __init__(self, why: Message) -> None:
        self.why = why


class _ListReader:
    def __init__(self, pieces: Iterator[str], most_letters: int) -> None:
        self.pieces, self.most = pieces, most_letters
        self.text, self.at, self.number = "", 0, 0

    def values(self) -> Iterator[Any]:
        if self._sign() != "[":
            raise _NotAList(message("reason.list_beginning"))
        self.at += 1
        if self._sign() == "]":
            self.at += 1
        else:
            more = True
            while more:
                yield self._value()
                self.number += 1
                sign = self._sign()
                if sign not in (",", "]"):
                    raise _NotAList(message("reason.list_sign", entry=str(self.number)))
                self.at += 1
                more = sign == ","
        if self._sign():
            raise _NotAList(message("reason.list_goes_on"))

    def _more(self) -> bool:
        """Read as much again as is held, so that a long value is not parsed again at every piece."""
        rest = self.text[self.at :]
        parts, wanted = [rest], max(len(rest), 1)
        for piece in self.pieces:
            parts.append(piece)
            wanted -= len(piece)
            if wanted <= 0:
                break
        self.text, self.at = "".join(parts), 0
        return len(self.text) > len(rest)

    def _sign(self) -> str:
        """Return the next character that is not a space, '' at the end."""
        while True:
            space = _SPACE.match(self.text, self.at)
            self.at = space.end() if space else self.at
            if self.at < len(self.text):
                return self.text[self.at]
            if not self._more():
                return ""

    def _value(self) -> Any:
        self._sign()
        while True:
            try:
                value, end = _STRICT.raw_decode(self.text, self.at)
            except BadInput as error:
                raise _NotAList(error.faults[0]) from None
            except json.JSONDecodeError as error:
                if len(self.text) - self.at > self.most:
                    raise _NotAList(message("reason.list_entry_long", entry=str(self.number + 1))) from None
                if not self._more():
                    entry = message("place.entry", n=str(self.number + 1))
                    raise _NotAList(verbatim(error.msg).at(entry)) from None
                continue
            # A number at the end of what is held may continue in the next piece.
            letters = end - self.at
            if not _MAY_GO_ON.match(self.text, end) or not self._more():
                try:
                    _refuse_halves(value, self.text[self.at : self.at + letters])
                except BadInput as error:
                    raise _NotAList(error.faults[0]) from None
                self.at += letters
                return value
