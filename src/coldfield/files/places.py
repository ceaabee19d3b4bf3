"""Where in a file a fault is, and how many of a kind are listed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from coldfield.message import Message, message


def line(number: int) -> Message:
    """Return the place of a line; its number is written without thousands separators.

    Examples
    --------
    >>> from coldfield.words import say
    >>> say(message("fault.missing").at(line(1200), "split"))
    'line 1200: split: is missing'
    """
    return message("place.line", n=str(number))


def inside(path: str, fault: Message) -> Message:
    """Return a fault of something under a path, with its own path appended to that one.

    Examples
    --------
    >>> inside("drill", message("fault.missing").at("burials[1].depth_m")).place
    ('drill.burials[1].depth_m',)
    >>> inside("drill", message("fault.missing").at(line(7))).place[0]
    'drill'
    """
    first, *rest = fault.place or ("",)
    if not first or not isinstance(first, str):
        return fault.at(path)
    return replace(fault, place=(f"{path}{'' if first.startswith('[') else '.'}{first}", *rest))


def few(faults: Sequence[Message], most: int, *, count: int | None = None) -> list[Message]:
    """Return the first faults, and a count of the others (of `count` in all, by default those given)."""
    more = (len(faults) if count is None else count) - most
    return [*faults[:most], *([message("fault.and_more", n=more)] if more > 0 else [])]
