"""What free JSON in a record may hold, so that every door and both databases give it back as it came."""

from __future__ import annotations

from math import isfinite
from typing import Any

MOST_DEPTH = 40
"""How deep lists and objects may lie within each other. Setting."""

MOST_WHOLE = 2**53 - 1
"""The largest whole number that every reader of JSON reads alike (RFC 8259, section 6)."""


def plain_object(value: dict[str, Any]) -> dict[str, Any]:
    """Return an object as it is, or raise `ValueError` with the first thing in it that cannot be kept.

    Refused are numbers that are not finite or whole numbers beyond 2^53, texts that are not Unicode or hold
    the character NUL, and nesting deeper than `MOST_DEPTH`.

    Examples
    --------
    >>> plain_object({"runs": [1, 2.5, None]})
    {'runs': [1, 2.5, None]}
    >>> plain_object({"runs": [float("nan")]})
    Traceback (most recent call last):
    ValueError: holds a number that is not finite
    """
    _check(value, 1)
    return value


def _check(value: Any, depth: int) -> None:
    if depth > MOST_DEPTH:
        raise ValueError(f"is nested deeper than {MOST_DEPTH} levels")
    if isinstance(value, dict):
        for key in value:
            _check_text(key)
        value = value.values()
    for one in value:
        if isinstance(one, float):
            if not isfinite(one):
                raise ValueError("holds a number that is not finite")
        elif isinstance(one, str):
            _check_text(one)
        elif isinstance(one, int):
            if abs(one) > MOST_WHOLE:
                raise ValueError("holds a whole number beyond 2^53")
        elif isinstance(one, list | dict):
            _check(one, depth + 1)
        elif one is not None:
            raise ValueError(f"holds {type(one).__name__}, which is not JSON")


def _check_text(text: Any) -> None:
    if not isinstance(text, str):
        raise ValueError("holds a key that is not text")
    if "\0" in text:
        raise ValueError("holds the character NUL")
    try:
        text.encode()
    except UnicodeEncodeError:
        raise ValueError("holds text that is not Unicode (half of a pair of surrogates)") from None
