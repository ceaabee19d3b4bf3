"""JSON text to plain values, strictly: no repeated keys, no NaN, bounded in size and depth."""

from __future__ import annotations

import json
import re
from typing import Any, NoReturn

from coldfield.errors import BadInput

MOST_BYTES = 5_000_000
MOST_DEPTH = 64
"""Lists and objects within each other; no format of ours goes beyond ten. Setting."""

MOST_DIGITS = 300
"""Digits of a whole number; the largest that a computer's numbers hold has 309."""

_TEXT = re.compile(r'"(?:[^"\\]|\\.)*"', re.DOTALL)
_OTHER = re.compile(r"[^\[\]{}]+")
_HALF = re.compile(
    r"\\u[dD][89abAB][0-9a-fA-F]{2}(?!\\u[dD][c-fC-F][0-9a-fA-F]{2})"
    r"|(?<!\\u[dD][89abAB][0-9a-fA-F]{2})\\u[dD][c-fC-F][0-9a-fA-F]{2}"
)
"""One half of a letter that takes two: it can be written nowhere."""


def decode_text(data: bytes, source: str, *, most_bytes: int = MOST_BYTES) -> str:
    """Return the text of a UTF-8 file, with or without a byte order mark.

    Raises
    ------
    BadInput
        If the file is empty, larger than `most_bytes` or not UTF-8.
    """
    if len(data) > most_bytes:
        raise BadInput(f"is {len(data) / 1e6:.1f} MB; at most {most_bytes / 1e6:.0f} MB are read", source)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise BadInput(f"is not UTF-8 text (byte {error.start}); save it as UTF-8", source) from None
    if not text.strip():
        raise BadInput("is empty", source)
    return text


def parse_json(text: str, source: str) -> Any:
    """Return the plain value that a JSON text describes.

    Raises
    ------
    BadInput
        If the text is not JSON, repeats a key within one object, holds NaN, Infinity or half a
        letter, or is nested too deeply.
    """
    if depth_of(text) > MOST_DEPTH:
        raise BadInput("is nested too deeply", source)
    try:
        value = json.loads(
            text,
            object_pairs_hook=_no_repeats,
            parse_constant=_no_constants,
            parse_int=whole,
        )
    except json.JSONDecodeError as error:
        raise BadInput(f"line {error.lineno}, column {error.colno}: not JSON: {error.msg}", source) from None
    except RecursionError:
        raise BadInput("is nested too deeply", source) from None
    except ValueError as error:
        raise BadInput(str(error), source) from None
    if "\\u" in text and _HALF.search(text.replace("\\\\", "")):
        raise BadInput("holds half of a letter that takes two (\\uD800 to \\uDFFF); write both", source)
    return value


def depth_of(text: str) -> int:
    """Return how deep the lists and objects of a JSON text stand within each other.

    Brackets within texts do not count; in what is not JSON the answer means nothing.
    """
    deep = most = 0
    for sign in _OTHER.sub("", _TEXT.sub("", text)):
        deep += 1 if sign in "[{" else -1
        most = max(most, deep)
    return most


def writable(value: Any) -> None:
    """Raise `UnicodeEncodeError` where a JSON value holds half of a letter that takes two."""
    json.dumps(value, ensure_ascii=False).encode()


def whole(digits: str) -> int | float:
    """Return the number of some digits; infinity where it is too large for a computer's numbers."""
    return int(digits) if len(digits) <= MOST_DIGITS else float(digits)


def _no_repeats(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    seen: dict[str, Any] = {}
    for key, value in pairs:
        if key in seen:
            raise ValueError(f"the key '{key[:60]}' stands twice in one object; keep one of them")
        seen[key] = value
    return seen


def _no_constants(word: str) -> NoReturn:
    raise ValueError(f"{word} is not a number that can be used; give a finite one")
