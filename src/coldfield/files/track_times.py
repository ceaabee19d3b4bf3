"""Which recorded times can be those of a run; the others are refused, each with its place in the file."""

from __future__ import annotations

from array import array
from collections.abc import Sequence
from datetime import UTC, datetime
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from coldfield.drill.recorded import EARLIEST_UNIX_S, LATEST_UNIX_S, MOST_SPAN_S
from coldfield.errors import BadInput

MOST_FAULTS = 10
"""Lines told of one track; the others are counted."""

LEFT_OUT = 0.1
"""The share of times that may be left out as nonsense before a track is refused. Setting."""


def plausible(
    unix_s: NDArray[np.float64],
    places: Sequence[int] | array[int],
    source: str,
    *,
    own: bool = False,
    what: Literal["line", "record"] = "line",
) -> tuple[NDArray[np.float64], tuple[str, ...]]:
    """Return the times of a track without those that cannot be of a run (NaN), and notes that name them.

    Parameters
    ----------
    unix_s : ndarray, shape (n,)
        Seconds since 1970 UTC, or on a clock of the recorder's own; NaN where a point has none.
    places : sequence of int
        The line, or the record, of each point in its file.
    source : str
        The file's name.
    own : bool
        The clock is the recorder's own: its seconds may count from anything.
    what : str
        What `places` count.

    Raises
    ------
    BadInput
        If more than a tenth of the times lie before 1980 or after 2100 (a clock of its own: further from
        0 than 2100 is from 1970), with a line for each; or if the others span more than a day, with a line
        that names both ends.
    """
    earliest = -LATEST_UNIX_S if own else EARLIEST_UNIX_S
    timed = ~np.isnan(unix_s)
    wrong = np.flatnonzero(timed & ~((unix_s >= earliest) & (unix_s <= LATEST_UNIX_S)))
    told = [f"{what} {places[i]}: {_fault(float(unix_s[i]), own)}" for i in wrong[:MOST_FAULTS].tolist()]
    if wrong.size > MOST_FAULTS:
        told.append(f"and {wrong.size - MOST_FAULTS} more faults of this kind")
    if wrong.size > LEFT_OUT * timed.sum():
        raise BadInput(told, source)
    kept = unix_s.copy()
    kept[wrong] = np.nan
    known = np.flatnonzero(np.isfinite(kept))
    if known.size:
        first, last = int(known[np.argmin(kept[known])]), int(known[np.argmax(kept[known])])
        if kept[last] - kept[first] > MOST_SPAN_S:
            raise BadInput(
                f"its times run from {shown(float(kept[first]), own)} ({what} {places[first]}) "
                f"to {shown(float(kept[last]), own)} ({what} {places[last]}), more than a day; "
                "correct them, or cut the file to the run",
                source,
            )
    return kept, tuple(told)


def _fault(unix_s: float, own: bool) -> str:
    if own:
        return f"{unix_s:g} s is no time of a recorder"
    return f"the time {shown(unix_s)} lies before 1980 or after 2100"


def shown(unix_s: float, own: bool = False) -> str:
    """Return a time as people read it: ISO 8601 UTC in whole seconds, or seconds of a clock of its own."""
    if own:
        return f"{unix_s:g} s"
    try:
        return datetime.fromtimestamp(unix_s, UTC).isoformat(timespec="seconds").replace("+00:00", "Z")
    except (ValueError, OverflowError, OSError):
        return f"{unix_s:g} s"
