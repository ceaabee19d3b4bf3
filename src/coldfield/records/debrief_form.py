"""The form of a stored debrief: every part has the type that pages and tables expect (`debrief/document.py`).

Parts may be missing, as in debriefs of earlier versions; additional ones are kept as they are.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from pydantic_core import PydanticCustomError

from coldfield.errors import BadInput
from coldfield.files.debrief_json import check_made_by, read_debrief
from coldfield.files.faults import refusal, refused_for
from coldfield.files.places import few
from coldfield.records.moments import real_moment
from coldfield.records.plain_json import plain_object

_SHOWN = 5


def a_debrief(value: dict[str, Any]) -> dict[str, Any]:
    """Return a debrief unchanged, or raise an error naming what has the wrong type."""
    return _as_it_is(value, _check)


def a_making(value: dict[str, Any]) -> dict[str, Any]:
    """Return what made a debrief unchanged, or raise an error naming what has the wrong type."""
    return _as_it_is(value, check_made_by)


def _check(value: dict[str, Any]) -> None:
    run = read_debrief(value).run
    faults = []
    for name, moment in (("alarm_utc", run.alarm_utc), ("zero_utc", run.zero_utc)):
        try:
            real_moment(moment or "1970-01-01T00:00:00Z")
        except PydanticCustomError as error:
            faults += [fault.at(f"run.{name}") for fault in refused_for(error)]
    if faults:
        raise BadInput(faults)


def _as_it_is(value: dict[str, Any], check: Callable[[dict[str, Any]], object]) -> dict[str, Any]:
    plain_object(value)
    try:
        check(value)
    except BadInput as error:
        raise refusal(*few(list(error.faults), _SHOWN)) from None
    return value
