"""Answers of the service with English messages, for comparison with the output of commands."""

from __future__ import annotations

from typing import Any

from pydantic import TypeAdapter

from coldfield.message import Message
from coldfield.words import ENGLISH, say

_MESSAGE = TypeAdapter(Message)


def in_english(told: Any) -> Any:
    """Return JSON with the text of each message."""
    if isinstance(told, list):
        return [in_english(one) for one in told]
    if not isinstance(told, dict):
        return told
    if set(told) == {"code", "values", "place"}:
        return say(_MESSAGE.validate_python(told), ENGLISH)
    return {key: in_english(value) for key, value in told.items()}
