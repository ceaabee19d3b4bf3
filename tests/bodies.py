"""Make bodies of records from their forms, so that new kinds and fields are covered without being named here.

`from_schema` reads the JSON Schema that pydantic makes of a form. What a schema cannot say (that a reference
names a record, that a drill's ground is valid) is filled in by place, not by kind.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from typing import Any

from hypothesis import strategies as st
from pydantic import TypeAdapter

from coldfield.debrief.document import DebriefDocument
from coldfield.debrief.written import MadeBy
from coldfield.files.day_model import ITEMS
from coldfield.records.kinds import Kind
from example_records import DRILL

_STAMP = {"id": "item", "of": "of-1", "phone": "phone-1", "n": 1}
"""The fields of an item's record besides its content."""

LETTERS = st.characters(codec="utf-8", exclude_categories=["Cc", "Cs"])
_WORD = st.text(LETTERS, min_size=1, max_size=5)
WHOLE_FILES = {
    "DrillPart": [DRILL],
    "SitePart": [DRILL["site"]],
    "BurialPart": DRILL["burials"],
    "Message": [
        {"code": "verbatim", "values": {"text": "as it was"}, "place": []},
        {
            "code": "finding.idle",
            "values": {
                "searcher": "Ines",
                "n": 2,
                "time": {"kind": "duration", "value": 83.25, "decimals": None},
                "who": ["2.1", {"code": "fault.missing", "values": {}, "place": ["x"]}],
            },
            "place": ["splits.csv", {"code": "place.line", "values": {"n": "4"}, "place": []}],
        },
    ],
}
"""Parts whose numbers must be consistent use examples; drill files have separate tests."""

NASTY: list[Any] = [
    float("nan"),
    float("inf"),
    -0.0,
    5e-324,
    1e308,
    10**30,
    -(2**63),
    2**31,
    True,
    None,
    "",
    " ",
    "\0",
    "a\0b",
    "\ud800",
    "\U0010ffff",
    "e\u0301",
    "=1+1",
    "x" * 11_000,
    [],
    {},
    [[[]]],
    {"\0": 1},
    {"\ud800": 1},
    ["\ud800"],
    "1970-01-01T00:30:00+05:00",
    "2099-12-31T23:59:59-12:00",
    "2024-02-30",
    "2026-02-14T10:30:60Z",
]
"""Values that no form expects."""


def body(kind: Kind, known: Mapping[str, list[str]]) -> st.SearchStrategy[dict[str, Any]]:
    """Return bodies for a kind; references name one of the known ids of their kind."""
    schema = kind.form.model_json_schema()
    for name, model in (("document", DebriefDocument), ("made_by", MadeBy)):
        if schema["properties"].get(name, {}).get("additionalProperties") is True:
            parts = TypeAdapter(model).json_schema()
            schema["properties"][name] = parts
            schema.setdefault("$defs", {}).update(parts.get("$defs", {}))
    for column, to in kind.refers.items():
        # A reference inside a list is made together with the list's entries.
        if column in schema["properties"]:
            schema["properties"][column] = {"enum": known[to]}
    if "searchers" in schema["properties"]:
        who = {"searcher": {"enum": [one["id"] for one in DRILL["searchers"]]}}
        who |= {"person_id": {"enum": [*known["people"], None]}}
        part = {"type": "object", "properties": who, "required": ["searcher"]}
        schema["properties"]["searchers"] = {"type": "array", "items": part, "maxItems": 1}
    bodies = from_schema(schema, schema.get("$defs", {}))
    return _items(bodies) if "told" in schema["properties"] else bodies


def _items(bodies: st.SearchStrategy[dict[str, Any]]) -> st.SearchStrategy[dict[str, Any]]:
    """Return items of days: of a run or of a check, with the keys of one kind of item."""
    told = [
        from_schema(schema, schema.get("$defs", {})).map(
            lambda one, form=form: {
                key: value
                for key, value in form.model_validate({**one, **_STAMP}).model_dump(mode="json").items()
                if key not in (*_STAMP, "line")
            }
        )
        for form, schema in ((form, form.model_json_schema()) for form in ITEMS.values())
    ]

    def whole(one: dict[str, Any], said: dict[str, Any], of_run: bool) -> dict[str, Any]:
        keys = {"check_id": None} if of_run else {"run_id": None, "check_id": "check-1"}
        return {**one, **({"run_id": "run-1"} if of_run else {}), **keys, "told": said}

    return st.builds(whole, bodies, st.one_of(told), st.booleans())


def from_schema(schema: Mapping[str, Any], parts: Mapping[str, Any]) -> st.SearchStrategy[Any]:
    """Return values that a JSON Schema describes, as pydantic writes it."""
    if "$ref" in schema:
        name = schema["$ref"].rpartition("/")[2]
        return st.sampled_from(WHOLE_FILES[name]) if name in WHOLE_FILES else from_schema(parts[name], parts)
    if "enum" in schema or "const" in schema:
        return st.sampled_from(schema.get("enum") or [schema["const"]])
    if "anyOf" in schema:
        return st.one_of([from_schema(one, parts) for one in schema["anyOf"]])
    kind = schema.get("type", "null")
    if kind == "object":
        return _object(schema, parts)
    if "prefixItems" in schema:
        return st.tuples(*(from_schema(one, parts) for one in schema["prefixItems"])).map(list)
    if kind == "array":
        least, most = schema.get("minItems", 0), min(schema.get("maxItems", 4), schema.get("minItems", 0) + 4)
        return st.lists(from_schema(schema["items"], parts), min_size=least, max_size=most)
    if kind == "string":
        return _text(schema)
    if kind in ("number", "integer"):
        return _number(schema, whole=kind == "integer")
    return st.booleans() if kind == "boolean" else st.none()


def _object(schema: Mapping[str, Any], parts: Mapping[str, Any]) -> st.SearchStrategy[Any]:
    keys = {name: from_schema(one, parts) for name, one in schema.get("properties", {}).items()}
    required = {name: keys.pop(name) for name in schema.get("required", ())}
    if not keys and not required:
        return st.dictionaries(_WORD, _WORD, max_size=2)
    return st.fixed_dictionaries(required, optional=keys)


def _text(schema: Mapping[str, Any]) -> st.SearchStrategy[str]:
    if schema.get("format") == "date":
        return st.dates(min_value=_day(1970), max_value=_day(2099)).map(str)
    if schema.get("format") == "date-time":
        zones = st.sampled_from(["Z", "+01:00", "-12:00", "+14:00"])
        return st.tuples(st.dates(min_value=_day(1970), max_value=_day(2099)), st.times(), zones).map(
            lambda told: f"{told[0]}T{told[1].isoformat('seconds')}.{told[1].microsecond:06d}{told[2]}"
        )
    pattern, least, most = schema.get("pattern", ""), schema.get("minLength", 0), schema.get("maxLength", 300)
    if "[^" in pattern or not pattern:
        text = st.text(LETTERS | st.sampled_from("\t\n=\u2028"), min_size=least, max_size=min(most, 60))
        # `$` in the forms is the very end; in Python it would allow a final line break.
        strict = pattern.removesuffix("$") + r"\Z" if pattern.endswith("$") else pattern
        return text.filter(lambda one: re.search(strict, one) is not None)
    return st.from_regex(pattern, fullmatch=True).filter(lambda one: len(one) <= most and one.isascii())


def _day(year: int) -> Any:
    from datetime import date

    return date(year, 1 if year == 1970 else 12, 1 if year == 1970 else 31)


def _number(schema: Mapping[str, Any], *, whole: bool) -> st.SearchStrategy[Any]:
    least = schema.get("minimum", schema.get("exclusiveMinimum"))
    most = schema.get("maximum", schema.get("exclusiveMaximum"))
    if whole:
        return st.integers(least, most)
    open_below, open_above = "exclusiveMinimum" in schema, "exclusiveMaximum" in schema
    floats = st.floats(least, most, exclude_min=open_below, exclude_max=open_above, allow_nan=False)
    return floats | st.just(-0.0) if not open_below and (least or 0) <= 0 <= (most or 0) else floats


def spoilt(good: st.SearchStrategy[dict[str, Any]]) -> st.SearchStrategy[Any]:
    """Return bodies with an unexpected value in one place at any depth."""

    @st.composite
    def spoil(draw: st.DrawFn) -> Any:
        value = json.loads(json.dumps(draw(good)))
        places = list(_places(value, ()))
        place = draw(st.sampled_from(places))
        return _with(value, place, draw(st.sampled_from(NASTY)))

    return spoil()


def _places(value: Any, here: tuple[Any, ...]) -> Any:
    inside = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, one in inside:
        yield (*here, key)
        yield from _places(one, (*here, key))
    yield (*here, "\ud800" if isinstance(value, dict) else None)


def _with(value: Any, place: tuple[Any, ...], nasty: Any) -> Any:
    if len(place) == 1:
        if isinstance(value, dict) or (isinstance(value, list) and place[0] is not None):
            value[place[0]] = nasty
        elif isinstance(value, list):
            value.append(nasty)
        return value
    if isinstance(value, dict | list) and place[0] is not None:
        value[place[0]] = _with(value[place[0]], place[1:], nasty)
        return value
    return nasty
