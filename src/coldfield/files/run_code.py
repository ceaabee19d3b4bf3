"""A run as texts short enough for codes that cameras read: on a screen, on paper, or in an address.

The form is `CFR1.` + part + `.` + parts + `.` + sum + `.` + body + `.` + check. The body is base 32
(RFC 4648, without `=`) of a raw DEFLATE stream of JSON. The sum is the CRC-32 of that JSON in eight
hexadecimal digits, the same in each part. The check is the lower half of the CRC-32 of everything
before it, so a misread part is noticed on its own. All characters belong to the alphanumeric set of
QR codes; a code of version 20, level M, holds 970 of them.

The JSON is the run's line of a day file without default values (`RunLine`). The phone reads it in
`frontend/src/codes`; `tests/data/day/run_code.json` checks both sides.
"""

from __future__ import annotations

import json
import re
import zlib
from base64 import b32decode, b32encode
from collections.abc import Sequence
from math import ceil
from typing import Any

import shapely
from pydantic import ValidationError
from shapely import Polygon

from coldfield.errors import BadInput
from coldfield.files.day_model import RunLine
from coldfield.message import message

VERSION = "CFR1"
MOST_SIGNS = 947
"""Longest body of a part; with its head it fills a code of version 20, level M (970 characters;
ISO/IEC 18004, from memory)."""

THIN_M, MOST_CORNERS = 0.5, 40
"""How far a simplified boundary may be from the ground's, m, and its greatest number of corners. Settings."""

_PART = re.compile(rf"{VERSION}\.([1-9])\.([1-9])\.([0-9A-F]{{8}})\.([A-Z2-7]+)\.([0-9A-F]{{4}})")
MOST_PARTS = 9
MOST_JSON = 100_000


def write_run_code(run: RunLine, *, most_signs: int = MOST_SIGNS) -> tuple[str, ...]:
    """Return a run as the texts of one code, or of several of about equal length, to be read in any order.

    They contain the whole run except its survival curve and the picture of its ground. Places and depths are
    rounded to a centimetre. The boundary is simplified and rounded to 0.1 m: it lies within about `THIN_M` of
    the ground's, or farther if more than `MOST_CORNERS` corners would be left.

    Parameters
    ----------
    run : RunLine
        The prepared run.
    most_signs : int
        The longest body of a part.

    Raises
    ------
    BadInput
        If it would need more than nine codes.
    """
    left = {"line", "curve", "picture"}
    told = run.model_dump(mode="json", exclude=left, exclude_defaults=True, exclude_none=True)
    if run.boundary_m is not None:
        told["boundary_m"] = _thin(run.boundary_m)
    text = json.dumps(_short(told), ensure_ascii=False, separators=(",", ":")).encode()
    packer = zlib.compressobj(9, zlib.DEFLATED, -15)
    body = b32encode(packer.compress(text) + packer.flush()).decode().rstrip("=")
    count = ceil(len(body) / most_signs)
    if count > MOST_PARTS:
        raise BadInput(message("fault.run_code_long", n=count, most=MOST_PARTS))
    total, each = f"{zlib.crc32(text):08X}", ceil(len(body) / count)
    bodies = [body[at : at + each] for at in range(0, len(body), each)]
    parts = [f"{VERSION}.{k}.{len(bodies)}.{total}.{part}" for k, part in enumerate(bodies, start=1)]
    return tuple(f"{part}.{_check(part)}" for part in parts)


def _check(part: str) -> str:
    return f"{zlib.crc32(part.encode()) & 0xFFFF:04X}"


def _thin(ring: list[list[float]]) -> list[list[float]]:
    """Return a ring with fewer corners, to 0.1 m."""
    off_m = THIN_M
    while len(corners := shapely.get_coordinates(Polygon(ring).simplify(off_m))[:-1]) > MOST_CORNERS:
        off_m *= 2.0
    return [[round(float(x), 1), round(float(y), 1)] for x, y in corners]


def _short(value: Any) -> Any:
    """Round numbers to a centimetre and a tenth of a degree, as exact as a tape."""
    if isinstance(value, float):
        return round(value, 2)
    if isinstance(value, dict):
        return {key: _short(one) for key, one in value.items()}
    return [_short(one) for one in value] if isinstance(value, list) else value


def read_run_code(codes: Sequence[str]) -> RunLine:
    """Return the run in the texts of its codes, in any order.

    Raises
    ------
    BadInput
        If one is of another kind, if a part is missing, or if the sum does not match.
    """
    found: dict[int, str] = {}
    heads = set()
    for code in codes:
        part = _PART.fullmatch(code.strip())
        if part is None:
            raise BadInput(message("fault.run_code_kind"))
        if part[5] != _check(part[0][:-5]):
            raise BadInput(message("fault.run_code_sum"))
        heads.add((int(part[2]), part[3]))
        found[int(part[1])] = part[4]
    if len(heads) != 1:
        raise BadInput(message("fault.run_code_mixed"))
    count, total = heads.pop()
    missing = [k for k in range(1, count + 1) if k not in found]
    if missing:
        raise BadInput(message("fault.run_code_missing", parts=tuple(missing)))
    body = "".join(found[k] for k in range(1, count + 1))
    try:
        unpacker = zlib.decompressobj(-15)
        packed = b32decode(body + "=" * (-len(body) % 8))
        text = unpacker.decompress(packed, MOST_JSON)
        whole = unpacker.eof and not unpacker.unused_data and b32encode(packed).decode().rstrip("=") == body
        if not whole or f"{zlib.crc32(text):08X}" != total:
            raise BadInput(message("fault.run_code_sum"))
        return RunLine.model_validate(json.loads(text))
    except (ValueError, zlib.error, ValidationError):
        raise BadInput(message("fault.run_code_sum")) from None
