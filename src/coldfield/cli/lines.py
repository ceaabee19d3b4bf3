"""What commands print for people: one message per line."""

from __future__ import annotations

from collections.abc import Iterable

from coldfield.message import Message
from coldfield.words import say


def in_lines(messages: Iterable[Message]) -> str:
    """Return messages in the current language, one per line."""
    return "\n".join(say(one) for one in messages)
