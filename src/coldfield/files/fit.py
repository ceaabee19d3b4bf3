"""Recorded tracks in FIT, as watches and bicycle computers write them.

A FIT file is a header, messages and a checksum. A definition message describes the fields of the
data messages that follow under its local number. Messages with the global number 20 (`record`) have
a place and a time. Nothing else is decoded: other messages are skipped by their length, so the time
depends only on the number of bytes. `tests/files/test_fit.py` compares with a library that decodes
everything.

References
----------
.. [1] Garmin, *FIT Protocol*: headers, definition and data messages, compressed timestamps, checksum
   (from memory).
"""

from __future__ import annotations

from array import array
from dataclasses import dataclass
from struct import Struct, error, unpack_from

import numpy as np

from coldfield.drill.recorded import Recorded
from coldfield.errors import BadInput
from coldfield.files.budget import Budget
from coldfield.files.track_times import plausible, record
from coldfield.message import message, size

MOST_BYTES = 16_000_000
"""An hour takes about 0.3 MB. Setting."""

_HEAVY_PARTS = 10
"""How much a definition, or the head of a file, counts compared with a message. Setting."""

SEMICIRCLES = 2.0**31
"""A FIT angle is a whole number of semicircles; this many make 180 degrees."""

EPOCH_UNIX_S = 631_065_600
"""1989-12-31T00:00:00Z, from which FIT counts its seconds."""

DEVICE_TIME = 0x10000000
"""Smaller timestamps are seconds since the device was switched on and give no time."""

_RECORD, _TIMESTAMP, _LATITUDE, _LONGITUDE = 20, 253, 0, 1
_NO_ANGLE, _NO_TIME = 0x7FFFFFFF, 0xFFFFFFFF
_NOTHING = float("nan")


def _crc_table() -> tuple[int, ...]:
    table = []
    for value in range(256):
        for _ in range(8):
            value = (value >> 1) ^ (0xA001 if value & 1 else 0)
        table.append(value)
    return tuple(table)


_CRC = _crc_table()
_BLOCK = 4096


def crc_of(data: bytes) -> int:
    """Return the checksum at the end of FIT files: CRC-16 with the polynomial 0x8005, reflected.

    Notes
    -----
    In a long file all blocks are summed in parallel and then joined. The sum is linear in the bytes, so the
    sum of two successive blocks is that of the first one, advanced by the length of the second, plus (without
    carry) that of the second.
    """
    blocks = len(data) // _BLOCK if len(data) >= 16 * _BLOCK else 0
    table, crc = _CRC, _crc_of_blocks(data, blocks) if blocks else 0
    for byte in data[blocks * _BLOCK :]:
        crc = (crc >> 8) ^ table[(crc ^ byte) & 0xFF]
    return crc


def _crc_of_blocks(data: bytes, blocks: int) -> int:
    table = np.array(_CRC, dtype=np.uint16)
    bits = np.array([1 << bit for bit in range(16)], dtype=np.uint16)
    sums = np.zeros(blocks, dtype=np.uint16)
    columns = np.frombuffer(data, dtype=np.uint8, count=blocks * _BLOCK).reshape(blocks, _BLOCK).T
    for column in columns:
        sums = (sums >> 8) ^ table[(sums ^ column) & 0xFF]
        bits = (bits >> 8) ^ table[bits & 0xFF]
    moved: list[int] = bits.tolist()
    crc = 0
    for one in sums.astype(int).tolist():
        crc, before = one, crc
        for bit in range(16):
            if before >> bit & 1:
                crc ^= moved[bit]
    return crc


def read_fit(data: bytes, source: str, budget: Budget | None = None) -> tuple[Recorded, ...]:
    """Return the track in a FIT file: its `record` messages with a position.

    Parameters
    ----------
    data : bytes
        The file; several FIT files in a row count as one.
    source : str
        Its name.
    budget : Budget, optional
        What is left for the archive that contains the file.

    Raises
    ------
    BadInput
        If the file is too large, is not FIT, is cut off or damaged, has no record with a position, or
        has times that cannot be those of a run.

    Notes
    -----
    Angles are converted as value * 180 / 2**31 degrees. Records without a position (no fix yet, or a
    machine that stands still indoors) are left out and counted in the notes.
    """
    if len(data) > MOST_BYTES:
        raise BadInput(message("fault.larger_than_run", most=size(MOST_BYTES)), source)
    budget = budget if budget is not None else Budget()
    fault = budget.too_many(source, tracks=1)
    if fault is not None:
        raise fault
    messages = _Messages(data, source, budget)
    try:
        messages.read()
    except (error, IndexError):
        raise BadInput(message("fault.fit_cut"), source) from None
    finally:
        budget.take(points=len(messages.unix_s), tracks=1, parts=messages.count)
    if not messages.unix_s:
        raise BadInput(message("fault.no_position", n=messages.without), source)
    unix_s, refused = plausible(np.array(messages.unix_s), messages.number, source, place=record)
    told = (message("note.without_position", n=messages.without),) if messages.without else ()
    place = np.column_stack([messages.latitude, messages.longitude])
    return (
        Recorded(
            file=source,
            name="",
            unix_s=unix_s,
            place=place.astype(np.float64) * (np.pi / SEMICIRCLES),
            segment=np.zeros(len(place), dtype=np.int64),
            notes=(*refused, *told),
        ),
    )


@dataclass(frozen=True, slots=True)
class _Layout:
    """The layout of the data messages of one local number: length, and where the fields are that are read."""

    size: int
    record: bool
    time_at: int | None
    place_at: tuple[int, int] | None
    time: Struct
    angle: Struct


class _Messages:
    """Goes through the messages and collects the places and times of the records."""

    def __init__(self, data: bytes, source: str, budget: Budget) -> None:
        self.data = data
        self.source = source
        self.budget = budget
        self.unix_s = array("d")
        self.latitude = array("q")
        self.longitude = array("q")
        self.number = array("q")
        self.without = 0
        self.records = 0
        self.messages = 0
        self.count = 0

    def read(self) -> None:
        at = 0
        while at < len(self.data):
            at = self._one_file(at)

    def _one_file(self, start: int) -> int:
        data = self.data
        self._counted(_HEAVY_PARTS)
        header_size: int
        size: int
        header_size, _, _, size, mark = unpack_from("<BBHI4s", data, start)
        if mark != b".FIT" or header_size < 12 or header_size == 13:
            raise BadInput(message("fault.fit_header"), self.source)
        if header_size >= 14:
            (told,) = unpack_from("<H", data, start + header_size - 2)
            if told and told != crc_of(data[start : start + 12]):
                raise self._damaged()
        body, end = start + header_size, start + header_size + size
        (told,) = unpack_from("<H", data, end)
        if told != crc_of(data[start:end]):
            raise self._damaged()
        self._messages(body, end)
        return end + 2

    def _damaged(self) -> BadInput:
        return BadInput(message("fault.fit_checksum"), self.source)

    def _messages(self, at: int, end: int) -> None:
        data, layouts, last = self.data, dict[int, _Layout](), 0
        while at < end:
            self._counted()
            self.messages += 1
            head = data[at]
            at += 1
            compressed = head & 0x80
            if not compressed and head & 0x40:
                at, layout = _definition(data, at, developer=bool(head & 0x20))
                layouts[head & 0x0F] = layout
                self._counted(_HEAVY_PARTS)
                continue
            found = layouts.get((head >> 5) & 0x03 if compressed else head & 0x0F)
            if found is None:
                raise BadInput(message("fault.fit_undefined", number=str(self.messages)), self.source)
            if at + found.size > end:
                raise BadInput(message("fault.fit_cut"), self.source)
            stamp: int | None = None
            if found.time_at is not None:
                (stamp,) = found.time.unpack_from(data, at + found.time_at)
                last = stamp
            elif compressed:
                offset = head & 0x1F
                last = stamp = last + ((offset - (last & 0x1F)) & 0x1F)
            if found.record:
                self._record(at, found, stamp)
            at += found.size
        if at != end:
            raise BadInput(message("fault.fit_cut"), self.source)

    def _counted(self, parts: int = 1) -> None:
        """Count what was read, in messages that would take as long."""
        self.count += parts
        if self.count > self.budget.parts:
            raise self.budget.too_many(self.source, parts=self.count) or self._damaged()

    def _record(self, at: int, layout: _Layout, stamp: int | None) -> None:
        self.records += 1
        if layout.place_at is None:
            self.without += 1
            return
        (lat,) = layout.angle.unpack_from(self.data, at + layout.place_at[0])
        (lon,) = layout.angle.unpack_from(self.data, at + layout.place_at[1])
        if lat == _NO_ANGLE or lon == _NO_ANGLE:
            self.without += 1
            return
        fault = self.budget.too_many(self.source, points=len(self.unix_s) + 1)
        if fault is not None:
            raise fault
        self.latitude.append(lat)
        self.longitude.append(lon)
        self.number.append(self.records)
        known = stamp is not None and DEVICE_TIME <= stamp != _NO_TIME
        self.unix_s.append(float(EPOCH_UNIX_S + stamp) if known and stamp is not None else _NOTHING)


def _definition(data: bytes, at: int, *, developer: bool) -> tuple[int, _Layout]:
    """Return where the definition message at `at` ends, and the layout that it defines."""
    big, count = data[at + 1] == 1, data[at + 4]
    (number,) = unpack_from(">H" if big else "<H", data, at + 2)
    at += 5
    size, found = 0, dict[int, int]()
    for _ in range(count):
        field, length, base = data[at], data[at + 1], data[at + 2]
        # Four bytes: an angle is a signed, a time an unsigned integer of that length.
        if length == 4 and base & 0x1F == (0x06 if field == _TIMESTAMP else 0x05):
            found[field] = size
        size += length
        at += 3
    if developer:
        count = data[at]
        at += 1
        for _ in range(count):
            size += data[at + 1]
            at += 3
    place = (found[_LATITUDE], found[_LONGITUDE]) if {_LATITUDE, _LONGITUDE} <= set(found) else None
    return at, _Layout(
        size=size,
        record=number == _RECORD,
        time_at=found.get(_TIMESTAMP),
        place_at=place,
        time=Struct(">I" if big else "<I"),
        angle=Struct(">i" if big else "<i"),
    )
