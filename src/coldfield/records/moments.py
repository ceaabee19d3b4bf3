"""Moments as they are stored in records: UTC, between 1970 and 2099, always in the same form."""

from __future__ import annotations

import re
from datetime import UTC, datetime

from coldfield.files.faults import refusal
from coldfield.message import message

FIRST, LAST = "1970-01-01T00:00:00.000Z", "2099-12-31T23:59:59.999Z"
"""The earliest and the latest moment that a record may name."""

MOMENT_PATTERN = r"^(19[7-9]\d|20\d\d)-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d{1,6})?(Z|[+-]\d\d:\d\d)$"
"""The form of a moment, for programs that send one."""


_EXAMPLE = "2026-02-14T10:30:00+01:00"


def stamp(moment: datetime) -> str:
    """Return a moment as text of 24 characters: UTC, ISO 8601, milliseconds.

    Examples
    --------
    >>> stamp(datetime(2026, 2, 14, 9, 30, tzinfo=UTC))
    '2026-02-14T09:30:00.000Z'
    """
    return moment.astimezone(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def real_moment(text: str) -> str:
    """Return ISO 8601 with a zone in the stored form, which must lie between the bounds.

    Raises
    ------
    PydanticCustomError
        If it is not a moment, has no zone, or lies before 1970 or after 2099 in UTC.

    Examples
    --------
    >>> real_moment("2026-02-14T10:30:00+01:00")
    '2026-02-14T09:30:00.000Z'
    """
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        raise refusal(message("fault.real_moment", example=_EXAMPLE)) from None
    if moment.tzinfo is None:
        raise refusal(message("fault.moment_zone", example=_EXAMPLE))
    if not re.match(MOMENT_PATTERN, text):
        raise refusal(message("fault.moment_range", example=_EXAMPLE))
    try:
        kept = stamp(moment)
    except OverflowError:
        kept = ""
    if not FIRST <= kept <= LAST:
        raise refusal(message("fault.moment_utc"))
    return kept


def kept_moment(text: str) -> str:
    """Return a moment that is in the stored form, or raise an error like `real_moment`."""
    if real_moment(text) != text:
        raise refusal(message("fault.kept_moment", example="2026-02-14T09:30:00.000Z"))
    return text
