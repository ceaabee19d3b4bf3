"""The hearing map as bytes for the browser: a small header in JSON, then compact arrays for each set."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from coldfield.errors import BadInput
from coldfield.message import message

MAGIC = b"CHM1"
READING_STEP_M = 0.01
MARGIN_STEP_DB = 0.01
DIRECTION_STEPS = 240
"""Steps of a half turn: three quarters of a degree each."""

NO_DIRECTION = 255


@dataclass(frozen=True, eq=False)
class PackedHearing:
    """A map as it is sent: the header, and for each set arrays of shape (rows, columns).

    `reading` is uint16, in hundredths of a metre, not rounded as shown and also given where nothing is
    heard. `margin` is int16, the amplitude over the threshold in hundredths of a dB; from 0 on the set is
    heard. `direction` is uint8, in 240ths of a half turn clockwise from north, or 255 for none. `heard_by` is
    uint8, the number of the group's receivers that hear the set. Rows run from south to north, columns from
    west to east.
    """

    header: Mapping[str, Any]
    reading: NDArray[np.uint16]
    margin: NDArray[np.int16]
    direction: NDArray[np.uint8]
    heard_by: NDArray[np.uint8]


def pack_hearing(
    header: Mapping[str, Any],
    *,
    raw_reading_m: NDArray[np.float32],
    signal: NDArray[np.float32],
    direction_rad: NDArray[np.float32],
    heard_by: NDArray[np.uint8],
) -> bytes:
    """Return a hearing map as bytes; all arrays of shape (sets, rows, columns).

    Notes
    -----
    Little-endian: the four letters CHM1, the length of the header as uint32, the header as JSON in
    UTF-8 padded with spaces to a multiple of eight, and then the four arrays of `PackedHearing` for
    each set, in the order of the header.
    """
    reading = raw_reading_m * np.float32(1.0 / READING_STEP_M)
    reading += np.float32(0.5)
    np.minimum(reading, np.float32(65535.0), out=reading)
    with np.errstate(divide="ignore"):  # of a set that is not heard at all
        margin = np.log(signal)
    margin *= np.float32(20.0 / np.log(10.0) / MARGIN_STEP_DB)
    np.floor(margin, out=margin)
    np.clip(margin, np.float32(-32768.0), np.float32(32767.0), out=margin)
    turn = np.fmax(direction_rad, np.float32(-1.0))  # no direction: -1
    turn *= np.float32(DIRECTION_STEPS / np.pi)
    turn += np.float32(0.5)
    step = turn.astype(np.int16)
    np.copyto(step, 0, where=step == DIRECTION_STEPS)
    np.copyto(step, NO_DIRECTION, where=turn < 0.0)
    words = json.dumps(dict(header), ensure_ascii=False, separators=(",", ":")).encode()
    words += b" " * (-len(words) % 8)
    parts = [MAGIC, len(words).to_bytes(4, "little"), words]
    whole = reading.astype("<u2"), margin.astype("<i2"), step.astype(np.uint8), heard_by
    for k in range(len(raw_reading_m)):
        parts += [part[k].tobytes() for part in whole]
    return b"".join(parts)


def unpack_hearing(content: bytes) -> PackedHearing:
    """Return the map in bytes that `pack_hearing` made.

    Raises
    ------
    BadInput
        If they are not such a map, or not complete.
    """
    start = 8 + int.from_bytes(content[4:8], "little")
    if content[:4] != MAGIC or start > len(content):
        raise BadInput(message("fault.not_a_hearing_map"))
    header = json.loads(content[8:start])
    rows, columns, sets = header["rows"], header["columns"], len(header["burials"])
    size = rows * columns
    if len(content) != start + 6 * size * sets:
        raise BadInput(message("fault.hearing_map_cut"))
    blocks = np.frombuffer(content, dtype=np.uint8, offset=start).reshape(sets, 6 * size)
    shape = (sets, rows, columns)
    return PackedHearing(
        header,
        np.ascontiguousarray(blocks[:, : 2 * size]).view("<u2").reshape(shape),
        np.ascontiguousarray(blocks[:, 2 * size : 4 * size]).view("<i2").reshape(shape),
        blocks[:, 4 * size : 5 * size].reshape(shape),
        blocks[:, 5 * size :].reshape(shape),
    )
