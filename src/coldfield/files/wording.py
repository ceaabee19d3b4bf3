"""What each text of a form is: people's words, a name, a key to which others refer, an id, a code.

The search for a person in the records follows these marks, so a text field without one is refused.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum
from types import NoneType, UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin, get_type_hints

from annotated_types import MaxLen
from pydantic import BaseModel
from pydantic.fields import FieldInfo


class Wording(Enum):
    """What a text is, as a mark in its annotation."""

    WORDS = "words"
    """Words that people write freely; anybody may be mentioned there."""

    NAME = "name"
    """Somebody's name."""

    SEARCHER = "searcher"
    """The id of a searcher in a drill, chosen by people; splits, tracks and debriefs refer to it."""

    BURIAL = "burial"
    """The id of a burial, used in the same way."""

    RECORD = "record"
    """The id of a record; it never changes."""

    CODE = "code"
    """A date, a digest or similar: its pattern leaves no room for a name."""

    ANYTHING = "anything"
    """A JSON document without a form: every text and key in it may be people's words."""


@dataclass(frozen=True, slots=True)
class Shape:
    """The mark of a document that gives its usual dataclass."""

    form: type


@dataclass(frozen=True, slots=True)
class TextPlace:
    """One text of a form: what it is, its greatest length (None: no limit), a document's usual dataclass."""

    wording: Wording
    most: int | None = None
    shape: type | None = None


def texts_of(form: type[BaseModel]) -> dict[str, TextPlace]:
    """Return every text of a form and of the forms in it, by path, such as ``searchers[].name``.

    Raises
    ------
    TypeError
        If a text is not marked with its `Wording`.
    """
    return dict(_of_model(form, ""))


def _of_model(form: type[BaseModel], path: str) -> Iterator[tuple[str, TextPlace]]:
    hints = get_type_hints(form, include_extras=True)
    for name in form.model_fields:
        yield from _of_type(hints[name], f"{path}.{name}" if path else name, form)


def _of_type(kind: Any, path: str, form: type[BaseModel]) -> Iterator[tuple[str, TextPlace]]:
    origin, inner = get_origin(kind), get_args(kind)
    if origin is Annotated:
        marks = [mark for mark in inner[1:] if isinstance(mark, Wording)]
        if marks:
            shape = next((mark.form for mark in inner[1:] if isinstance(mark, Shape)), None)
            yield path, TextPlace(marks[-1], _most(inner[1:]), shape)
        else:
            yield from _of_type(inner[0], path, form)
    elif origin in (Union, UnionType):
        for one in inner:
            yield from _of_type(one, path, form)
    elif origin is list:
        yield from _of_type(inner[0], f"{path}[]", form)
    elif isinstance(kind, type) and issubclass(kind, BaseModel):
        yield from _of_model(kind, path)
    elif origin is not Literal and kind not in (int, float, bool, NoneType):
        raise TypeError(f"{form.__name__}: '{path}' is a text; mark what it is (files/wording.py)")


def _most(marks: tuple[Any, ...]) -> int | None:
    told = [one for mark in marks if isinstance(mark, FieldInfo) for one in mark.metadata]
    return next((int(one.max_length) for one in told if isinstance(one, MaxLen)), None)
