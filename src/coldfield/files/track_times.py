"""Check which recorded times can be those of a run; others are refused with their place in the file."""

from __future__ import annotations

from array import array
from collections.abc import Callable, Sequence
from datetime import UTC, datetime

import numpy as np
from numpy.typing import NDArray

from coldfield.drill.recorded import EARLIEST_UNIX_S, LATEST_UNIX_S, MOST_SPAN_S
from coldfield.errors import BadInput
from coldfield.files.places import few, line
from coldfield.message import Message, message, number

MOST_FAULTS = 10
"""Most lines listed for one track; the others are counted."""

LEFT_OUT = 0.1
"""The share of invalid times that may be left out before a track is refused. Setting."""


def plausible(
    unix_s: NDArray[np.float64],
    places: Sequence[int] | array[int],
    source: str,
    *,
    own: bool = False,
    place: Callable[[int], Message] = line,
) -> tuple[NDArray[np.float64], tuple[Message, ...]]:
    """Return the times of a track, with NaN for those that cannot be of a run, and notes that list them.

    Parameters
    ----------
    unix_s : ndarray, shape (n,)
        Seconds since 1970 UTC, or on the recorder's own clock; NaN for a point without a time.
    places : sequence of int
        The line or record of each point in its file.
    source : str
        The file's name.
    own : bool
        The clock is the recorder's own: its seconds may count from any moment.
    place : callable
        Names one of `places`: `line` or `record`.

    Raises
    ------
    BadInput
        If more than a tenth of the times are before 1980 or after 2100 (on its own clock: farther from 0
        than 2100 is from 1970), with a line for each; or if the others span more than a day, with a line
        that names both ends.
    """
    earliest = -LATEST_UNIX_S if own else EARLIEST_UNIX_S
    timed = ~np.isnan(unix_s)
    wrong = np.flatnonzero(timed & ~((unix_s >= earliest) & (unix_s <= LATEST_UNIX_S)))
    first_ones = [_fault(float(unix_s[i]), own).at(place(places[i])) for i in wrong[:MOST_FAULTS].tolist()]
    told = few(first_ones, MOST_FAULTS, count=wrong.size)
    if wrong.size > LEFT_OUT * timed.sum():
        raise BadInput(told, source)
    kept = unix_s.copy()
    kept[wrong] = np.nan
    known = np.flatnonzero(np.isfinite(kept))
    if known.size:
        first, last = int(known[np.argmin(kept[known])]), int(known[np.argmax(kept[known])])
        if kept[last] - kept[first] > MOST_SPAN_S:
            span = message(
                "fault.times_span",
                first=shown(float(kept[first]), own),
                last=shown(float(kept[last]), own),
                from_place=place(places[first]),
                to_place=place(places[last]),
            )
            raise BadInput(span, source)
    return kept, tuple(told)


def record(number: int) -> Message:
    """Return the place of a record in a file that has no lines."""
    return message("place.record", n=str(number))


def _fault(unix_s: float, own: bool) -> Message:
    if own:
        return message("fault.no_recorder_time", seconds=number(unix_s))
    return message("fault.time_beyond", time=shown(unix_s))


def shown(unix_s: float, own: bool = False) -> str:
    """Return a time for people: ISO 8601 UTC in whole seconds, or seconds on the recorder's own clock."""
    if own:
        return f"{unix_s:g} s"
    try:
        return datetime.fromtimestamp(unix_s, UTC).isoformat(timespec="seconds").replace("+00:00", "Z")
    except (ValueError, OverflowError, OSError):
        return f"{unix_s:g} s"
