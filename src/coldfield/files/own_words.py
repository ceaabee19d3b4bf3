"""Which texts of a document belong to the program: keys of its parts, codes, kinds of quantities.

They are left alone when a document is searched for a person: the code of a finding does not mean
somebody called 'Lane'.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, is_dataclass
from functools import cache
from types import UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin, get_type_hints

from coldfield.debrief.written import OURS
from coldfield.message import Message

_IN_MESSAGE = re.compile(r"(?:\.(?:values\.[^.\[\]]+|place)(?:\[\])?)*")
"""The path from a message to one inside it."""

_OF_MESSAGE = ("code", "values", "place")
_OF_QUANTITY = ("kind", "value", "decimals")


@dataclass(frozen=True, slots=True)
class OwnWords:
    """The paths of a document's own words, such as ``findings[].kind``.

    `messages` are the paths of messages, `mappings` those whose keys are all our own.
    """

    keys: frozenset[str]
    codes: frozenset[str]
    messages: frozenset[str]
    mappings: frozenset[str]

    def is_key(self, path: str) -> bool:
        """Return whether the last part of a path is one of our keys."""
        above, _, key = path.rpartition(".")
        if path in self.keys or above in self.mappings:
            return True
        if key in _OF_MESSAGE and self._in_message(above):
            return True
        of_values, _, values = above.rpartition(".")
        if values == "values" and self._in_message(of_values):
            return True
        return key in _OF_QUANTITY and self._in_message(above)

    def is_code(self, path: str) -> bool:
        """Return whether the text at a path is one of our codes."""
        above, _, key = path.rpartition(".")
        return path in self.codes or (key in ("code", "kind") and self._in_message(above))

    def _in_message(self, path: str) -> bool:
        return any(path.startswith(one) and _IN_MESSAGE.fullmatch(path[len(one) :]) for one in self.messages)


@cache
def own_words(form: type) -> OwnWords:
    """Return the own words of a document whose parts are dataclasses.

    Parameters
    ----------
    form : type
        A dataclass; texts with the mark `OURS` and texts limited to a few fixed words are codes.
    """
    found: dict[str, set[str]] = {"keys": set(), "codes": set(), "messages": set(), "mappings": set()}
    for what, path in _of_type(form, ""):
        found[what].add(path)
    return OwnWords(**{what: frozenset(paths) for what, paths in found.items()})


def _of_type(kind: Any, path: str) -> Iterator[tuple[str, str]]:
    origin, inner = get_origin(kind), get_args(kind)
    if origin is Annotated:
        if OURS in inner[1:]:
            yield "codes", path
        yield from _of_type(inner[0], path)
    elif origin is Literal:
        yield "codes", path
    elif origin in (Union, UnionType):
        for one in inner:
            yield from _of_type(one, path)
    elif origin is tuple:
        yield from _of_type(inner[0], f"{path}[]")
    elif origin is Mapping:
        yield "mappings", path
    elif kind is Message:
        yield "messages", path
    elif is_dataclass(kind):
        for name, hint in get_type_hints(kind, include_extras=True).items():
            below = f"{path}.{name}" if path else name
            yield "keys", below
            yield from _of_type(hint, below)
