"""What commands print for people: messages, one on each line."""

from __future__ import annotations

from collections.abc import Iterable

from coldfield.message import Message
from coldfield.words import say


def in_lines(messages: Iterable[Message]) -> str:
    """Return messages in the language that is spoken, each on a line of its own."""
    return "\n".join(say(one) for one in messages)
