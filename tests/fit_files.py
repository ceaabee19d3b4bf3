"""FIT files made for tests, signed as a recorder signs them."""

from __future__ import annotations

import struct


def crc16(data: bytes) -> int:
    """CRC-16/ARC bit by bit: polynomial 0x8005 reflected, starting at 0. Independent of the reader."""
    crc = 0
    for byte in data:
        crc ^= byte
        for _ in range(8):
            crc = crc >> 1 ^ (0xA001 if crc & 1 else 0)
    return crc


def fit_file(body: bytes, crc=crc16) -> bytes:
    """Return messages as a complete file: 14 bytes of header, the messages, the checksum."""
    head = struct.pack("<BBHI4s", 14, 0x20, 2132, len(body), b".FIT")
    whole = head + struct.pack("<H", crc16(head)) + body
    return whole + struct.pack("<H", crc(whole))


def definition(
    number: int, *fields: tuple[int, int, int], local: int = 0, big: bool = False, developer: bytes = b""
) -> bytes:
    """Return a definition message: fields as (number, size, base type)."""
    head = 0x40 | local | (0x20 if developer else 0)
    told = struct.pack(">BBBHB" if big else "<BBBHB", head, 0, int(big), number, len(fields))
    return told + b"".join(bytes(one) for one in fields) + developer


RECORD = ((253, 4, 0x86), (0, 4, 0x85), (1, 4, 0x85))
"""The fields of a record that are read: time, latitude, longitude."""


def resigned(data: bytes, crc=crc16) -> bytes:
    """Return a file with the true length in its header and correct checksums."""
    if len(data) < 16:
        return data
    size = data[0] if 12 <= data[0] <= len(data) - 2 else 14
    head = bytes([size]) + data[1:4] + struct.pack("<I", len(data) - size - 2) + data[8:size]
    if size >= 14:
        head = head[: size - 2] + struct.pack("<H", crc16(head[:12]))
    whole = head + data[size:-2]
    return whole + struct.pack("<H", crc(whole))
