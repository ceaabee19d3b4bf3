"""What free JSON in a record may contain, so that it comes back unchanged from both databases."""

from __future__ import annotations

from math import isfinite
from typing import Any

from coldfield.files.faults import refusal
from coldfield.message import message

MOST_DEPTH = 40
"""How deep lists and objects may be nested. Setting."""

MOST_WHOLE = 2**53 - 1
"""The largest whole number that every JSON reader reads the same (RFC 8259, section 6)."""


def plain_object(value: dict[str, Any]) -> dict[str, Any]:
    """Return an object unchanged, or raise (see `refusal`) with the first thing in it that cannot be stored.

    Refused are numbers that are not finite, whole numbers beyond 2^53, texts that are not Unicode or contain
    NUL, and nesting deeper than `MOST_DEPTH`.

    Examples
    --------
    >>> plain_object({"runs": [1, 2.5, None]})
    {'runs': [1, 2.5, None]}
    """
    _check(value, 1)
    return value


def _check(value: Any, depth: int) -> None:
    if depth > MOST_DEPTH:
        raise refusal(message("fault.too_deep", n=MOST_DEPTH))
    if isinstance(value, dict):
        for key in value:
            _check_text(key)
        value = value.values()
    for one in value:
        if isinstance(one, float):
            if not isfinite(one):
                raise refusal(message("fault.json_not_finite"))
        elif isinstance(one, str):
            _check_text(one)
        elif isinstance(one, int):
            if abs(one) > MOST_WHOLE:
                raise refusal(message("fault.beyond_whole"))
        elif isinstance(one, list | dict):
            _check(one, depth + 1)
        elif one is not None:
            raise refusal(message("fault.no_json_value", kind=type(one).__name__))


def _check_text(text: Any) -> None:
    if not isinstance(text, str):
        raise refusal(message("fault.key_no_text"))
    if "\0" in text:
        raise refusal(message("fault.holds_nul"))
    try:
        text.encode()
    except UnicodeEncodeError:
        raise refusal(message("fault.not_unicode")) from None
