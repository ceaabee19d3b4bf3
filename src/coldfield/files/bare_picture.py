"""Check that a PNG or JPEG holds pixels and nothing else, without unpacking anything."""

from __future__ import annotations

import re

_PNG = b"\x89PNG\r\n\x1a\n"
_PNG_PARTS = frozenset((b"IHDR", b"PLTE", b"tRNS", b"IDAT", b"IEND"))
_JPEG_PARTS = frozenset((0xE0, 0xDB, 0xC0, 0xC1, 0xC2, 0xC4, 0xDD))
_FRAMES = (0xC0, 0xC1, 0xC2)
_SCAN, _LONGEST_HEAD = 0xDA, 18
_LATER = re.compile(rb"\xff[\xe0-\xef\xfe]")
"""Segments added by applications, or a comment; packed pixels never look like that."""


def bare_size(content: bytes) -> tuple[int, int] | None:
    """Return columns and rows of a PNG or JPEG that holds only its pixels and what they need; otherwise None.

    It may have no EXIF, comment, colour profile, thumbnail or text. The output of `read_picture` passes.

    Parameters
    ----------
    content : bytes
        The file.

    References
    ----------
    .. [1] ISO/IEC 15948 (PNG), chunk layout; ITU-T T.81 (JPEG), annex B, markers; from memory.
    """
    try:
        return _png(content) if content.startswith(_PNG) else _jpeg(content)
    except IndexError:
        return None


def _number(content: bytes, at: int, count: int) -> int:
    if at + count > len(content):
        raise IndexError
    return int.from_bytes(content[at : at + count], "big")


def _png(content: bytes) -> tuple[int, int] | None:
    at, size = len(_PNG), None
    while True:
        length, name = _number(content, at, 4), content[at + 4 : at + 8]
        if name not in _PNG_PARTS or (size is None) != (name == b"IHDR"):
            return None
        if name == b"IHDR":
            size = (_number(content, at + 8, 4), _number(content, at + 12, 4))
        at += 12 + length
        if name == b"IEND":
            return size if at == len(content) else None


def _jpeg(content: bytes) -> tuple[int, int] | None:
    at, size = 2, None
    if content[:2] != b"\xff\xd8":
        return None
    while _number(content, at, 1) == 0xFF:
        mark, length = content[at + 1], _number(content, at + 2, 2)
        if mark == _SCAN:
            return size if content.endswith(b"\xff\xd9") and not _LATER.search(content, at) else None
        if mark not in _JPEG_PARTS or (mark == 0xE0 and length > _LONGEST_HEAD):
            return None
        if mark in _FRAMES:
            size = (_number(content, at + 7, 2), _number(content, at + 5, 2))
        at += 2 + length
    return None
