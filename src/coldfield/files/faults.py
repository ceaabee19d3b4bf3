"""From pydantic's errors to faults that a person can act on: the path, what is wrong, what is right."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import fields, is_dataclass
from difflib import get_close_matches
from types import MappingProxyType
from typing import Any, get_args, get_type_hints

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails, PydanticCustomError

from coldfield.files.places import few, inside
from coldfield.message import Message, message, number, verbatim

MOST_LINES = 50
ID_PATTERN = r"^[A-Za-z0-9][A-Za-z0-9_-]{0,63}$"
"""The form of the id of a record or of an entry."""

_SAID = "said"
"""The name under which our own errors hold their messages."""

_PATTERNS = {ID_PATTERN: message("fault.pattern_id")}
_LOW = {"gt": "fault.above", "ge": "fault.at_least"}
_HIGH = {"lt": "fault.below", "le": "fault.at_most"}
_BOTH = {
    ("gt", "lt"): "fault.between",
    ("gt", "le"): "fault.above_to",
    ("ge", "lt"): "fault.from_below",
    ("ge", "le"): "fault.bounds",
}
_BEYOND = ("greater_than", "greater_than_equal", "less_than", "less_than_equal")
_KINDS = {
    "missing": message("fault.missing"),
    "float_type": message("fault.number"),
    "float_parsing": message("fault.number"),
    "finite_number": message("fault.finite_number"),
    "int_type": message("fault.whole_number"),
    "int_parsing": message("fault.whole_number"),
    "int_from_float": message("fault.whole_number"),
    "bool_type": message("fault.true_or_false"),
    "bool_parsing": message("fault.true_or_false"),
    "string_type": message("fault.text"),
    "string_too_short": message("fault.one_line"),
    "string_too_long": message("fault.one_line"),
    "string_pattern_mismatch": message("fault.one_line"),
    "list_type": message("fault.list"),
    "tuple_type": message("fault.list"),
    "dataclass_type": message("fault.object"),
    "dict_type": message("fault.object"),
    "dict_attributes_type": message("fault.object"),
    "model_type": message("fault.object"),
    "model_attributes_type": message("fault.object"),
}
"""Kinds of pydantic's errors that need no values."""

_ONE_OF = re.compile(r"'([^']*)'|\bor\b|([^\s,]+)")
"""Each value that is allowed, as pydantic lists them: ``'on foot', 'on ski' or 'on snowshoe'``."""


def refusal(*faults: Message) -> PydanticCustomError:
    """Return the error for a validator to raise, so that its faults keep code, values and place."""
    return PydanticCustomError(_SAID, "refused", {_SAID: faults})


def refused_for(error: PydanticCustomError) -> tuple[Message, ...]:
    """Return the faults that a validator raised with `refusal` when it was called without a form."""
    return tuple((error.context or {})[_SAID])


def fault_lines(error: ValidationError, model: type[Any]) -> list[Message]:
    """Return one message per fault, in the order of the file; at most 50, the rest counted.

    Parameters
    ----------
    error : pydantic.ValidationError
        The error from pydantic.
    model : type of BaseModel, or dataclass
        The model; the limits and names of its fields go into the messages.
    """
    bounds = dict(_bounds_of(model, set()))
    keys = dict(_keys_of(model, set()))
    places: dict[tuple[int | str, ...], ErrorDetails] = {}
    for detail in error.errors(include_url=False):
        *before, last = detail["loc"] or ("",)
        # An unknown key may look like a member of a union without being one.
        named = last if detail["type"] == "extra_forbidden" or not _is_union_member(last) else None
        loc = [part for part in before if not _is_union_member(part)]
        places.setdefault(tuple([*loc, named] if named not in (None, "") else loc), detail)
    # If one of several kinds is allowed, the most deeply nested fault is the helpful one.
    inner = {loc[:i] for loc in places for i in range(len(loc))}
    found = [
        fault
        for loc, detail in places.items()
        if loc not in inner
        for fault in placed_faults(detail, loc, bounds, keys)
    ]
    return few(found, MOST_LINES)


def _is_union_member(part: int | str) -> bool:
    # pydantic names the member of a union that it tried; the file has no such key.
    return isinstance(part, str) and ("[" in part or part.endswith("Part"))


def path_of(loc: tuple[int | str, ...]) -> str:
    """Return a path of keys as people write it.

    Examples
    --------
    >>> path_of(("burials", 1, "depth_m"))
    'burials[1].depth_m'
    """
    path = ""
    for part in loc:
        path += f"[{part}]" if isinstance(part, int) else (f".{part}" if path else part)
    return path


def placed_faults(
    detail: ErrorDetails,
    loc: tuple[int | str, ...],
    bounds: Mapping[str, Message] = MappingProxyType({}),
    keys: Mapping[str, list[str]] = MappingProxyType({}),
) -> list[Message]:
    """Return the faults in one of pydantic's errors, each with its place."""
    path = path_of(loc)
    said = detail.get("ctx", {}).get(_SAID)
    if said and path:
        return [inside(path, fault) for fault in said]
    fault = fault_words(detail, loc, bounds, keys)
    return [*said] if said else [fault.at(path or message("place.whole_file"))]


def fault_words(
    detail: ErrorDetails,
    loc: tuple[int | str, ...],
    bounds: Mapping[str, Message] = MappingProxyType({}),
    keys: Mapping[str, list[str]] = MappingProxyType({}),
) -> Message:
    """Return what is wrong, without its place; `bounds` and `keys` are those of the model's fields."""
    kind, ctx = detail["type"], detail.get("ctx", {})
    name = next((part for part in reversed(loc) if isinstance(part, str)), "")
    if kind == "extra_forbidden":
        return _unknown_key(str(loc[-1]) if loc else "", keys, loc)
    if kind in _BEYOND:
        return bounds.get(name) or bound_fault(ctx) or verbatim(detail["msg"])
    if kind == "literal_error":
        return one_of(str(ctx.get("expected")))
    if kind == "too_short":
        return message("fault.too_few_entries", n=int(ctx["min_length"]))
    if kind == "too_long":
        return message("fault.too_many_entries", n=int(ctx["max_length"]))
    if told := pattern_words(detail) or _KINDS.get(kind):
        return told
    words = detail["msg"].replace("Input should be", "must be").replace("Value error, ", "")
    return verbatim(words[:1].lower() + words[1:])


def pattern_words(detail: ErrorDetails) -> Message | None:
    """Return what a text must be like to match its pattern; None if the pattern has no words."""
    return _PATTERNS.get(detail.get("ctx", {}).get("pattern", ""))


def one_of(expected: str) -> Message:
    """Return that a value must be one of those that pydantic lists.

    Examples
    --------
    >>> from coldfield.words import say
    >>> say(one_of("'on foot', 'on ski' or 'on snowshoe'"))
    "must be 'on foot', 'on ski' or 'on snowshoe'"
    >>> say(one_of("'coldfield-drill/1'"))
    "must be 'coldfield-drill/1'"
    """
    *others, last = (
        message("term.quoted", text=found[1]) if found[2] is None else found[2]
        for found in _ONE_OF.finditer(expected)
        if found[0] != "or"
    )
    if not others:
        return message("fault.just", value=last)
    return message("fault.one_of", values=tuple(others), last=last)


def bound_fault(limits: Mapping[str, Any]) -> Message | None:
    """Return the limits between which a number must lie: those given of `gt`, `ge`, `lt` and `le`."""
    low = next((one for one in _LOW if one in limits), None)
    high = next((one for one in _HIGH if one in limits), None)
    if low and high:
        return message(_BOTH[low, high], low=number(limits[low]), high=number(limits[high]))
    if low:
        return message(_LOW[low], low=number(limits[low]))
    return message(_HIGH[high], high=number(limits[high])) if high else None


def _unknown_key(key: str, keys: Mapping[str, list[str]], loc: tuple[int | str, ...]) -> Message:
    parents = [part for part in loc[:-1] if isinstance(part, str)]
    known = keys.get(parents[-1] if parents else "", [])
    close = get_close_matches(key, known, n=1)
    if close:
        return message("fault.unknown_key_near", near=close[0])
    if known:
        return message("fault.unknown_key_known", known=tuple(known))
    return message("fault.unknown_key")


def _parts_in(annotation: Any) -> Iterator[type[Any]]:
    if isinstance(annotation, type) and (issubclass(annotation, BaseModel) or is_dataclass(annotation)):
        yield annotation
    for inner in get_args(annotation):
        yield from _parts_in(inner)


def _fields_of(part: type[Any]) -> list[tuple[str, Any, Sequence[Any]]]:
    """The name, the annotation and the marks of each field."""
    if issubclass(part, BaseModel):
        return [(name, one.annotation, one.metadata) for name, one in part.model_fields.items()]
    hints = get_type_hints(part, include_extras=True)
    return [(one.name, hints[one.name], ()) for one in fields(part)]


def _metadata_in(annotation: Any) -> Iterator[Any]:
    for inner in get_args(annotation):
        yield from getattr(inner, "metadata", [])
        yield from _metadata_in(inner)


def _bounds_of(part: type[Any], seen: set[type[Any]]) -> Iterator[tuple[str, Message]]:
    if part in seen:
        return
    seen.add(part)
    for name, annotation, metadata in _fields_of(part):
        limits: dict[str, Any] = {}
        for one in [*metadata, *_metadata_in(annotation)]:
            for bound in (*_LOW, *_HIGH):
                if hasattr(one, bound):
                    limits.setdefault(bound, getattr(one, bound))
        if fault := bound_fault(limits):
            yield name, fault
        for inner in _parts_in(annotation):
            yield from _bounds_of(inner, seen)


def _keys_of(part: type[Any], seen: set[type[Any]], name: str = "") -> Iterator[tuple[str, list[str]]]:
    if part in seen:
        return
    seen.add(part)
    yield name, [key for key, _, _ in _fields_of(part)]
    for key, annotation, _ in _fields_of(part):
        for inner in _parts_in(annotation):
            yield from _keys_of(inner, seen, key)
