"""The types of values in a debrief document, and the defaults for missing ones.

A part of a debrief is a frozen dataclass whose fields are the keys of its JSON. Fields that debriefs of
earlier versions may lack have a default; a text, list or number that is null there counts as missing.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any, TypeVar

from pydantic import BeforeValidator, ConfigDict, Field, Strict

from coldfield.message import Message, verbatim

T = TypeVar("T")


class Written:
    """A part of a debrief; its schema requires every key, because written documents have them all."""

    __slots__ = ()
    __pydantic_config__ = ConfigDict(json_schema_serialization_defaults_required=True)


def or_else(instead: Any) -> BeforeValidator:
    """Return the mark of a field whose null in a debrief of an earlier version means a default."""
    return BeforeValidator(lambda value: instead if value is None else value)


def _whole(value: Any) -> Any:
    return int(value) if isinstance(value, float) and value.is_integer() else value


Number = Annotated[float, Strict(), Field(ge=-1e12, le=1e12, allow_inf_nan=False)]
"""Far beyond any second, metre or count of a run. Setting."""

Second = Annotated[float, Strict(), Field(ge=-1e9, le=1e9, allow_inf_nan=False)]
"""Within 31 years of the run's zero, so that every moment can be written as a date. Setting."""

Count = Annotated[int, Strict(), Field(ge=-1e12, le=1e12), BeforeValidator(_whole)]
Flag = Annotated[bool, Strict()]
Word = Annotated[str, Strict()]
"""An id, a name or a word; always present."""

OURS = "a word of this program"
"""The mark of a text that is a code of this program, never a person's words."""

Code = Annotated[Word, OURS]

Words = Annotated[Word, or_else("")]
"""A text that may be missing; then ''."""

Many = Annotated[tuple[T, ...], or_else(())]
"""A list that may be missing; then empty."""


def _as_message(value: Any) -> Any:
    return verbatim(value) if isinstance(value, str) else value


Said = Annotated[Message, BeforeValidator(_as_message)]
"""A message; a plain text in debriefs of earlier versions is shown unchanged."""

OrZero = Annotated[Number, or_else(0.0)]
OrZeroCount = Annotated[Count, or_else(0)]
OrTrue = Annotated[Flag, or_else(True)]
OrFalse = Annotated[Flag, or_else(False)]

Point = tuple[Number, Number]
"""East and north of the site's origin, m in plan."""

Line = tuple[Point, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class MadeBy(Written):
    """What made a debrief: versions, constants, and checksums of the code and of what it depends on."""

    coldfield: Word | None = None
    model_version: Count | None = None
    models_sha256: dict[Word, Word] | None = None
    libraries: dict[Word, Word] | None = None
    constants: dict[str, Any] | None = None
    rests_on: dict[Word, Word] | None = None
