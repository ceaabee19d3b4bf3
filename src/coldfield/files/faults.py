"""From pydantic's errors to lines a person can act on: the path, what is wrong, what would be right."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import fields, is_dataclass
from difflib import get_close_matches
from types import MappingProxyType
from typing import Any, get_args, get_type_hints

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

MOST_LINES = 50
ID_PATTERN = r"^[A-Za-z0-9][A-Za-z0-9_-]{0,63}$"
"""How the id of a record or of an entry is written."""

_PATTERNS = {ID_PATTERN: "must be 1 to 64 letters, digits, - and _ that begin with a letter or digit"}
_BOUNDS = {"gt": "above {}", "ge": "at least {}", "lt": "below {}", "le": "at most {}"}
_KINDS = {
    "float_type": "a number",
    "float_parsing": "a number",
    "finite_number": "a finite number",
    "int_type": "a whole number",
    "int_parsing": "a whole number",
    "bool_parsing": "true or false",
    "dict_attributes_type": "an object {...}",
    "int_from_float": "a whole number",
    "bool_type": "true or false",
    "string_type": "text in quotes",
    "list_type": "a list [...]",
    "model_type": "an object {...}",
    "model_attributes_type": "an object {...}",
    "tuple_type": "a list [...]",
    "dataclass_type": "an object {...}",
    "dict_type": "an object {...}",
}


def fault_lines(error: ValidationError, model: type[Any]) -> list[str]:
    """Return one line per fault, in the order of the file; at most 50, the rest counted.

    Parameters
    ----------
    error : pydantic.ValidationError
        What pydantic found.
    model : type of BaseModel, or dataclass
        What it was validated against; its fields' bounds and names go into the lines.
    """
    bounds = dict(_bounds_of(model, set()))
    keys = dict(_keys_of(model, set()))
    places: dict[tuple[int | str, ...], ErrorDetails] = {}
    for detail in error.errors(include_url=False):
        *before, last = detail["loc"] or ("",)
        # A key that nobody knows may look like a member of a union, and is none.
        named = last if detail["type"] == "extra_forbidden" or not _is_union_member(last) else None
        loc = [part for part in before if not _is_union_member(part)]
        places.setdefault(tuple([*loc, named] if named not in (None, "") else loc), detail)
    # Where one of several kinds is allowed, the fault deepest inside is the one that helps.
    inner = {loc[:i] for loc in places for i in range(len(loc))}
    found = [
        f"{_path(loc)}: {fault_words(detail, loc, bounds, keys)}"
        for loc, detail in places.items()
        if loc not in inner
    ]
    if len(found) > MOST_LINES:
        found[MOST_LINES:] = [f"and {len(found) - MOST_LINES} more faults of this kind"]
    return found


def _is_union_member(part: int | str) -> bool:
    # pydantic names the member of a union it tried; the file has no such key.
    return isinstance(part, str) and ("[" in part or part.endswith("Part"))


def _path(loc: tuple[int | str, ...]) -> str:
    path = ""
    for part in loc:
        path += f"[{part}]" if isinstance(part, int) else (f".{part}" if path else part)
    return path or "the whole file"


def fault_words(
    detail: ErrorDetails,
    loc: tuple[int | str, ...],
    bounds: Mapping[str, str] = MappingProxyType({}),
    keys: Mapping[str, list[str]] = MappingProxyType({}),
) -> str:
    """Return what is wrong, without its place; `bounds` and `keys` are those of the model's fields."""
    kind, ctx = detail["type"], detail.get("ctx", {})
    name = next((part for part in reversed(loc) if isinstance(part, str)), "")
    if kind == "missing":
        return "is missing"
    if kind == "extra_forbidden":
        return f"is not a key here{_nearest(str(loc[-1]) if loc else '', keys, loc)}"
    if kind in ("greater_than", "greater_than_equal", "less_than", "less_than_equal"):
        return f"must be {bounds.get(name) or _bound(ctx)}"
    if kind == "literal_error":
        return f"must be {ctx.get('expected')}"
    if kind == "too_short":
        return f"must have at least {ctx.get('min_length')} entries"
    if kind == "too_long":
        return f"must have at most {ctx.get('max_length')} entries"
    if told := pattern_words(detail):
        return told
    if kind in ("string_too_short", "string_too_long", "string_pattern_mismatch"):
        return "must be text of one line, not empty and not longer than the format allows"
    if kind in _KINDS:
        return f"must be {_KINDS[kind]}"
    words = detail["msg"].replace("Input should be", "must be").replace("Value error, ", "")
    return words[:1].lower() + words[1:]


def pattern_words(detail: ErrorDetails) -> str | None:
    """Return what a text that does not fit its pattern must be like; None where the pattern has no words."""
    return _PATTERNS.get(detail.get("ctx", {}).get("pattern", ""))


def _bound(ctx: Mapping[str, Any]) -> str:
    return " and ".join(words.format(f"{ctx[one]:g}") for one, words in _BOUNDS.items() if one in ctx)


def _nearest(key: str, keys: Mapping[str, list[str]], loc: tuple[int | str, ...]) -> str:
    parents = [part for part in loc[:-1] if isinstance(part, str)]
    known = keys.get(parents[-1] if parents else "", [])
    close = get_close_matches(key, known, n=1)
    if close:
        return f"; did you mean {close[0]}?"
    return f"; known here: {', '.join(known)}; a newer Coldfield may know more" if known else ""


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


def _bounds_of(part: type[Any], seen: set[type[Any]]) -> Iterator[tuple[str, str]]:
    if part in seen:
        return
    seen.add(part)
    for name, annotation, metadata in _fields_of(part):
        words = []
        for one in [*metadata, *_metadata_in(annotation)]:
            words += [text.format(f"{getattr(one, b):g}") for b, text in _BOUNDS.items() if hasattr(one, b)]
        if words:
            yield name, " and ".join(dict.fromkeys(words))
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
