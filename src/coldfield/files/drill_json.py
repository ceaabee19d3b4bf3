"""The drill file: JSON text to a `Drill` and back; all faults at once, each with its place."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from typing import Any

from pydantic import ValidationError

from coldfield.drill.drill import Drill
from coldfield.errors import BadInput
from coldfield.files.drill_faults import faults_between_keys
from coldfield.files.drill_model import FORMAT, DrillPart
from coldfield.files.drill_parts import burial_value, conditions_value, drill_of, searcher_value, site_value
from coldfield.files.faults import fault_lines
from coldfield.files.json_text import parse_json
from coldfield.message import Message, message


def read_drill(text: str, source: str = "drill") -> Drill:
    """Return the drill that a drill file describes.

    Parameters
    ----------
    text : str
        The file's content.
    source : str
        The file's name, put before each fault.

    Raises
    ------
    BadInput
        With one line per fault, each with its path, such as
        ``burials[1].depth_m: must be above 0 and at most 10``.
    """
    raw = parse_json(text, source)
    if not isinstance(raw, dict):
        raise BadInput(message("fault.not_a_drill"), source)
    return drill_from(raw, source)


def drill_from(document: Mapping[str, Any], source: str = "drill") -> Drill:
    """Return the drill that a drill file's JSON object describes; faults as in `read_drill`."""
    part, faults = _read_keys(dict(document))
    if faults or part is None:
        raise BadInput(faults, source)
    return drill_of(part)


def drill_of_part(part: DrillPart, *, anywhere: bool = False) -> Drill:
    """Return the drill of a file whose keys have been checked one by one.

    Parameters
    ----------
    part : DrillPart
        Its keys; consistency between them is checked here.
    anywhere : bool
        Allow burials in any place. While somebody drags a burial, it may pass over a hole or beyond the
        boundary; what is heard of it there can still be shown.

    Raises
    ------
    BadInput
        With one line per fault.
    """
    faults = faults_between_keys(part.model_dump(exclude_unset=True), anywhere=anywhere)
    if faults:
        raise BadInput(faults, "drill")
    return drill_of(part)


def drill_faults(raw: dict[str, Any]) -> list[Message]:
    """Return one message per fault of a drill file's JSON object, in its keys and between them."""
    return _read_keys(raw)[1]


def _read_keys(raw: dict[str, Any]) -> tuple[DrillPart | None, list[Message]]:
    wrong = _format_fault(raw.get("format"))
    if wrong:
        return None, [wrong]
    part, faults = None, []
    try:
        part = DrillPart.model_validate(raw)
    except ValidationError as error:
        faults = fault_lines(error, DrillPart)
    return part, faults + faults_between_keys(raw)


def write_drill(drill: Drill) -> str:
    """Return a drill as the text of a drill file; `read_drill` returns an equal drill from it."""
    value = {
        "format": FORMAT,
        "name": drill.name,
        "site": site_value(drill.site),
        "burials": [burial_value(b) for b in drill.burials],
        "searchers": [searcher_value(s) for s in drill.searchers],
        "conditions": conditions_value(drill.conditions),
    }
    return json.dumps(value, indent=2, ensure_ascii=False) + "\n"


def drill_schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of the drill file."""
    schema = DrillPart.model_json_schema()
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Coldfield drill file, version 1",
        **{key: value for key, value in schema.items() if key != "title"},
    }


def is_drill_file(raw: object) -> bool:
    """Return whether a JSON value claims to be a drill file of any version."""
    return isinstance(raw, dict) and str(raw.get("format")).startswith(FORMAT.partition("/")[0] + "/")


_VERSION = re.compile(r"coldfield-drill/(\d{1,9})(?:\.(\d{1,9}))?")


def _format_fault(told: object) -> Message | None:
    """Return what is wrong with the key `format`; a newer version gets its own message."""
    if told == FORMAT:
        return None
    version = _VERSION.fullmatch(told) if isinstance(told, str) else None
    if version and (int(version[1]), int(version[2] or 0)) > (1, 0):
        return message("fault.newer_drill", format=version[0], own=FORMAT).at("format")
    if told is None:
        return message("fault.no_format", own=FORMAT).at("format")
    return message("fault.other_format", own=FORMAT, found=repr(told)[:60]).at("format")
