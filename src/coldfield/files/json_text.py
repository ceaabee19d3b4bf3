"""JSON text to plain values, strictly: no repeated keys, no NaN, bounded in size and depth."""

from __future__ import annotations

import json
from typing import Any, NoReturn

from coldfield.errors import BadInput

MOST_BYTES = 5_000_000


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
        If the text is not JSON, repeats a key within one object, holds NaN or Infinity, or is
        nested too deeply.
    """
    try:
        return json.loads(text, object_pairs_hook=_no_repeats, parse_constant=_no_constants)
    except json.JSONDecodeError as error:
        raise BadInput(f"line {error.lineno}, column {error.colno}: not JSON: {error.msg}", source) from None
    except RecursionError:
        raise BadInput("is nested too deeply", source) from None
    except ValueError as error:
        raise BadInput(str(error), source) from None


def _no_repeats(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    seen: dict[str, Any] = {}
    for key, value in pairs:
        if key in seen:
            raise ValueError(f"the key '{key[:60]}' stands twice in one object; keep one of them")
        seen[key] = value
    return seen


def _no_constants(word: str) -> NoReturn:
    raise ValueError(f"{word} is not a number that can be used; give a finite one")
