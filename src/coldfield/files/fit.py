"""Recorded tracks in FIT, as watches and bicycle computers write them."""

from __future__ import annotations

import io
import warnings
from datetime import UTC, datetime
from typing import Any

import numpy as np

from coldfield.debrief.recorded import MOST_POINTS, Recorded
from coldfield.errors import BadInput

MOST_BYTES = 64_000_000
SEMICIRCLES = 2.0**31
"""A FIT angle is a whole number of semicircles; this many make 180 degrees."""


def read_fit(data: bytes, source: str) -> tuple[Recorded, ...]:
    """Return the track of a FIT file: its `record` messages that carry a position.

    Raises
    ------
    BadInput
        If the file is too large, is not FIT, is cut off or damaged, or has no record with a position.

    Notes
    -----
    Angles are converted as value * 180 / 2**31 degrees. Records without a position (no fix yet, or a
    machine that stands still indoors) are left out and counted in the notes.
    """
    if len(data) > MOST_BYTES:
        raise BadInput(f"is larger than {MOST_BYTES // 1_000_000} MB; cut it to the run", source)
    import fitdecode

    unix_s: list[float] = []
    place: list[tuple[float, float]] = []
    without = 0
    try:
        with (
            warnings.catch_warnings(),
            fitdecode.FitReader(
                io.BytesIO(data),
                check_crc=fitdecode.CrcCheck.RAISE,
                error_handling=fitdecode.ErrorHandling.RAISE,
            ) as reader,
        ):
            warnings.simplefilter("ignore")
            for frame in reader:
                if frame.frame_type != fitdecode.FIT_FRAME_DATA or frame.name != "record":
                    continue
                lat = _value(frame, "position_lat")
                lon = _value(frame, "position_long")
                if lat is None or lon is None:
                    without += 1
                    continue
                place.append((lat, lon))
                unix_s.append(_moment(_value(frame, "timestamp")))
                if len(place) > MOST_POINTS:
                    raise BadInput(f"holds more than {MOST_POINTS} points; cut it to the run", source)
    except BadInput:
        raise
    except Exception as error:  # a damaged file can break the decoder in many ways; all are one fault
        raise BadInput(f"is not a whole FIT file: {_first_line(error)}", source) from None
    if not place:
        raise BadInput(f"holds no position ({without} records without one)", source)
    return (
        Recorded(
            file=source,
            name="",
            unix_s=np.array(unix_s),
            place=np.array(place, dtype=np.float64) * (np.pi / SEMICIRCLES),
            segment=np.zeros(len(place), dtype=np.int64),
            notes=(f"{without} records without a position",) if without else (),
        ),
    )


def _value(frame: Any, name: str) -> Any:
    return frame.get_value(name, fallback=None)


def _moment(stamp: Any) -> float:
    # A device without a fix stamps seconds since it was switched on: a bare number, of no use as a time.
    if not isinstance(stamp, datetime):
        return float("nan")
    return (stamp if stamp.tzinfo else stamp.replace(tzinfo=UTC)).timestamp()


def _first_line(error: Exception) -> str:
    lines = str(error).strip().splitlines()
    return (lines[0] if lines else type(error).__name__)[:100]
