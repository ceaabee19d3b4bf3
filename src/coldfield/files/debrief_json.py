"""The JSON of a debrief to its document and back; parts that earlier versions lack are filled in."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any

from pydantic import TypeAdapter, ValidationError
from pydantic_core import from_json

from coldfield.debrief.document import DebriefDocument, MadeBy
from coldfield.errors import BadInput
from coldfield.files.faults import fault_lines


def read_debrief(raw: Mapping[str, Any], source: str = "debrief") -> DebriefDocument:
    """Return the document of a debrief whose JSON is read already, as the records hold it.

    Keys that are not known here are left out.

    Raises
    ------
    BadInput
        With one line per part of the wrong type, each with its path.
    """
    try:
        document: DebriefDocument = _adapter(DebriefDocument).validate_python(raw)
    except ValidationError as error:
        raise BadInput(fault_lines(error, DebriefDocument), source) from None
    return document


def debrief_value(document: DebriefDocument) -> dict[str, Any]:
    """Return a debrief as JSON holds it; `read_debrief` of it gives an equal one."""
    value: dict[str, Any] = from_json(_adapter(DebriefDocument).dump_json(document))
    return value


def check_made_by(raw: Mapping[str, Any]) -> None:
    """Refuse what is said of the making of a debrief where it has the wrong type.

    Raises
    ------
    BadInput
        With one line per fault.
    """
    try:
        _adapter(MadeBy).validate_python(raw)
    except ValidationError as error:
        raise BadInput(fault_lines(error, MadeBy), "made_by") from None


@cache
def _adapter(kind: Any) -> TypeAdapter[Any]:
    return TypeAdapter(kind)
