"""Say a message in a language."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Any

from coldfield.message import VERBATIM, Message, Quantity, Value
from coldfield.words.languages import ENGLISH, Entry, catalogue, languages
from coldfield.words.quantities import known, plain, written

_current: ContextVar[str] = ContextVar("language", default=ENGLISH)
_PLACEHOLDER = re.compile(r"\{(\w+)\}")


@contextmanager
def speaking(tag: str) -> Iterator[None]:
    """Use this language within a block wherever no other is requested."""
    token = _current.set(tag)
    try:
        yield
    finally:
        _current.reset(token)


def say(message: Message, language: str | None = None) -> str:
    """Return a message in words, preceded by its place.

    Parameters
    ----------
    message : Message
        A code that no catalogue has is shown as it is, with its values, so that nothing is hidden.
    language : str, optional
        The tag of a catalogue; by default the current language.

    Examples
    --------
    >>> from coldfield.message import duration, message
    >>> say(message("time.plusMinus", time=duration(260)).at("run.json"))
    'run.json: ± 4 min 20 s'
    """
    tag = language or _current.get()
    words = _words(message, tag)
    places = [part if isinstance(part, str) else say(part, tag) for part in message.place]
    return ": ".join([*places, words])


def word(code: str, /, **values: Value) -> str:
    """Return the words of a code in the current language."""
    return say(Message(code, values))


def spoken_now() -> str:
    """Return the tag of the current language."""
    return _current.get()


def column(value: float, decimals: int, width: int = 0) -> str:
    """Return a figure for a printed table in the current language, right-aligned in `width` characters.

    Examples
    --------
    >>> column(48.72, 1, 6)
    '  48.7'
    """
    return plain(value, languages()[_current.get()].locale, decimals).rjust(width)


def spoken(answer: Any, language: str | None = None) -> Any:
    """Return an answer with every message turned into words, as a command prints it as JSON.

    Parameters
    ----------
    answer : object
        Dataclasses, mappings, lists and tuples of values; they are returned as dicts and lists.
    """
    if isinstance(answer, Message):
        return say(answer, language)
    if dataclasses.is_dataclass(answer) and not isinstance(answer, type):
        return {f.name: spoken(getattr(answer, f.name), language) for f in dataclasses.fields(answer)}
    if isinstance(answer, Mapping):
        return {key: spoken(value, language) for key, value in answer.items()}
    if isinstance(answer, list | tuple):
        return [spoken(value, language) for value in answer]
    return answer


def _words(message: Message, tag: str) -> str:
    if message.code == VERBATIM:
        return str(message.values["text"])
    entry = catalogue(tag).get(message.code)
    if entry is None:
        return f"{message.code} {_raw(message)}".strip()
    template = _chosen(entry, message.values.get("n"), tag)
    return _PLACEHOLDER.sub(lambda found: _value(message.values.get(found[1], found[0]), tag), template)


def _chosen(entry: Entry, n: Value | None, tag: str) -> str:
    if isinstance(entry, str):
        return entry
    count = n.value if isinstance(n, Quantity) else n
    from babel.core import Locale

    rule = Locale.parse(known(languages()[tag].locale)).plural_form
    form = rule(count) if isinstance(count, int | float) else "other"
    return entry.get(form) or entry["other"]


def _value(value: Value, tag: str) -> str:
    if isinstance(value, Message):
        return say(value, tag)
    if isinstance(value, tuple):
        return ", ".join(_value(part, tag) for part in value)
    if isinstance(value, Quantity):
        return written(value, languages()[tag].locale, lambda code, **units: say(Message(code, units), tag))
    return value if isinstance(value, str) else plain(value, languages()[tag].locale, 0)


def _raw(message: Message) -> str:
    return ", ".join(f"{name}={value}" for name, value in message.values.items())
