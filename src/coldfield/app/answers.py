"""Turn the answers of use cases into JSON.

A use case returns a frozen dataclass whose fields are the keys of the JSON object. The routes declare that
dataclass as their return type, so the service's description and its JSON follow from it. A command with
`--json` prints `json_text` of it.
"""

from __future__ import annotations

import json
from dataclasses import fields
from typing import Any

import numpy as np
from numpy.typing import NDArray
from pydantic import Field, TypeAdapter
from pydantic_core import from_json

from coldfield.drill.site import Point
from coldfield.words import spoken


def _is_none(value: object) -> bool:
    return value is None


IF_ASKED: Any = Field(exclude_if=_is_none)
"""Marks a field that was not asked for: its key is left out if its value is None.

Write ``detection: Annotated[Detection | None, IF_ASKED] = None``. Other fields that are None become null.
"""


_ADAPTERS: dict[type, TypeAdapter[Any]] = {}


def _adapter(kind: type) -> TypeAdapter[Any]:
    """Return the cached writer for answers of a type; building one takes a few milliseconds."""
    return _ADAPTERS.get(kind) or _ADAPTERS.setdefault(kind, TypeAdapter(kind))


def plain(answer: Any) -> Any:
    """Return an answer as plain JSON values: objects as dicts with text keys, tuples as lists.

    Parameters
    ----------
    answer : dataclass, or sequence of them
        NaN and infinity become None, as JSON has neither.

    Examples
    --------
    >>> from dataclasses import dataclass
    >>> @dataclass(frozen=True)
    ... class Heard:
    ...     id: str
    ...     reading_m: float | None
    >>> plain(Heard(id="A", reading_m=float("nan")))
    {'id': 'A', 'reading_m': None}
    """
    if isinstance(answer, list | tuple):
        return [plain(one) for one in answer]
    return from_json(_adapter(type(answer)).dump_json(answer))


def json_text(answer: Any) -> str:
    """Return an answer as one line of ASCII JSON with its messages as text, for a command's `--json`."""
    return json.dumps(said(answer), allow_nan=False)


def said(answer: Any) -> Any:
    """Return an answer as `plain` does, with its messages as text."""
    return _in_words(plain(answer), spoken(answer))


def _in_words(told: Any, words: Any) -> Any:
    """Return plain values, with messages as text in the current language."""
    if isinstance(words, str):
        return words
    if isinstance(told, dict):
        return {key: _in_words(value, words[key]) for key, value in told.items()}
    if isinstance(told, list):
        return [_in_words(one, word) for one, word in zip(told, words, strict=True)]
    return told


def fields_of(answer: Any) -> dict[str, Any]:
    """Return the fields of an answer by name, to build a larger answer that also has them."""
    return {field.name: getattr(answer, field.name) for field in fields(answer)}


def places(places_m: NDArray[np.float64]) -> tuple[Point, ...]:
    """Return an array of places, shape (n, 2), m, as points of an answer."""
    return tuple((float(east), float(north)) for east, north in places_m.tolist())
