"""Building blocks for the forms of all kinds of records: texts, moments, ids, each with its limits.

A form is what the API takes and returns, what an import accepts and what an export contains. Each form is
defined with its kind, in `coldfield.records.kinds`.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date
from typing import Annotated, Any, ClassVar, TypeVar

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, ValidationError

from coldfield.errors import BadInput
from coldfield.files.drill_model import LINE
from coldfield.files.faults import ID_PATTERN, fault_lines, refusal
from coldfield.files.wording import Wording
from coldfield.message import message
from coldfield.records.moments import MOMENT_PATTERN, kept_moment, real_moment

MOST_SECONDS = 86_400.0
MOST_PROSE = 10_000
"""The longest notes, characters. Setting."""


_DAY = r"^(19[7-9]\d|20\d\d)-\d\d-\d\d$"


def _real_date(value: str) -> str:
    try:
        date.fromisoformat(value)
    except ValueError:
        raise refusal(message("fault.real_date", example="2026-02-14")) from None
    if not re.match(_DAY, value):
        raise refusal(message("fault.date_range", example="2026-02-14"))
    return value


RecordId = Annotated[str, Field(pattern=ID_PATTERN), Wording.RECORD]
"""Chosen by the creator of the record; use a random UUID."""

_MAYBE_LINE = r"^[^\x00-\x1f\x7f]*$"
PROSE_PATTERN = r"^[^\x00-\x08\x0b-\x1f\x7f]*$"
_SHA256 = r"^[0-9a-f]{64}$"
_FILE_NAME = r"^[^\x00-\x1f\x7f/\\]+$"
Line = Annotated[str, Field(min_length=1, max_length=200, pattern=LINE), Wording.WORDS]
Name = Annotated[str, Field(min_length=1, max_length=200, pattern=LINE), Wording.NAME]
MaybeLine = Annotated[str, Field(max_length=200, pattern=_MAYBE_LINE), Wording.WORDS]
Label = Annotated[str, Field(min_length=1, max_length=64, pattern=LINE), Wording.WORDS]
Prose = Annotated[str, Field(max_length=MOST_PROSE, pattern=PROSE_PATTERN), Wording.WORDS]
FileName = Annotated[str, Field(min_length=1, max_length=120, pattern=_FILE_NAME), Wording.WORDS]
Sha256 = Annotated[str, Field(pattern=_SHA256), Wording.CODE]
Document = Annotated[dict[str, Any], Wording.ANYTHING]
Moment = Annotated[
    str,
    Field(json_schema_extra={"format": "date-time", "pattern": MOMENT_PATTERN}),
    Wording.CODE,
    AfterValidator(real_moment),
]
"""ISO 8601 with its zone; stored as UTC with milliseconds, which must lie between 1970 and 2099."""

Stamp = Annotated[
    str,
    Field(pattern=r"^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z$"),
    Wording.CODE,
    AfterValidator(kept_moment),
]
"""A moment as it is stored: of creation, change, deletion."""

Day = Annotated[
    str,
    Field(json_schema_extra={"format": "date", "pattern": _DAY}),
    Wording.CODE,
    AfterValidator(_real_date),
]
UnixSeconds = Annotated[float, Field(ge=0, le=4_102_444_800)]
"""Seconds since 1970, UTC, up to the year 2100."""

SinceAlarm = Annotated[float, Field(ge=-MOST_SECONDS, le=MOST_SECONDS)]


ClockShift = Annotated[float, Field(ge=-1e9, le=1e9)]
"""Seconds added to a clock."""


class Form(BaseModel):
    """Fields of one kind of record: no unknown keys, no text in place of numbers, no NaN."""

    model_config = ConfigDict(extra="forbid", strict=True, allow_inf_nan=False)

    as_given: ClassVar[tuple[str, ...]] = ()
    """Fields (parts of drill files or whole documents) of which only the given keys are stored."""

    def fields(self) -> dict[str, Any]:
        """Return plain values as they are stored; documents keep only the given keys."""
        value = self.model_dump()
        given = self.model_dump(exclude_unset=True)
        value |= {name: given.get(name) for name in self.as_given}
        # Remove the sign of a zero: one of the databases would not keep it.
        return {name: one + 0.0 if isinstance(one, float) else one for name, one in value.items()}


AnyForm = TypeVar("AnyForm", bound=Form)


def filled_in(form: type[AnyForm], fields: Mapping[str, Any]) -> AnyForm:
    """Return a form with these fields, checked.

    Raises
    ------
    BadInput
        With one fault for each wrong field.
    """
    try:
        return form.model_validate(dict(fields))
    except ValidationError as error:
        raise BadInput(fault_lines(error, form)) from None
