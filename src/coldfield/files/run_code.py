"""A run as a text short enough for a printed code: names, burials and anchors, packed and summed.

`CFR1.` + part + `.` + parts + `.` + sum + `.` + body. The body is base 32 (RFC 4648, without its `=`) of a
raw DEFLATE stream of JSON; the sum is the CRC-32 of that JSON in eight hexadecimal digits, the same in each
part. All signs are of the alphanumeric set of QR codes, so that a code of version 20, level M, holds 970.
"""

from __future__ import annotations

import json
import zlib
from base64 import b32decode, b32encode
from collections.abc import Sequence
from typing import Any

from pydantic import ValidationError

from coldfield.errors import BadInput
from coldfield.files.day_model import RunLine
from coldfield.message import message

VERSION = "CFR1"
MOST_SIGNS = 900
"""Body of one part: with its head a code of version 20, level M (970 signs; ISO/IEC 18004, from memory)."""

MOST_PARTS = 9
MOST_JSON = 100_000


def write_run_code(run: RunLine) -> tuple[str, ...]:
    """Return a run as the texts of one code or several, to be read in any order.

    Only what a keeper needs is in it: id, names, word for an emergency, burials, anchors, people.

    Raises
    ------
    BadInput
        If it would take more than nine codes.
    """
    kept = {"id", "name", "drill_id", "drill_version", "drill_name", "burials", "anchors", "searchers",
            "agreed_word", "emergency_number", "prepared"}  # fmt: skip
    told = run.model_dump(mode="json", include=kept, exclude_defaults=True, exclude_none=True)
    text = json.dumps(_short(told), ensure_ascii=False, separators=(",", ":")).encode()
    packer = zlib.compressobj(9, zlib.DEFLATED, -15)
    body = b32encode(packer.compress(text) + packer.flush()).decode().rstrip("=")
    parts = [body[at : at + MOST_SIGNS] for at in range(0, len(body), MOST_SIGNS)]
    if len(parts) > MOST_PARTS:
        raise BadInput(message("fault.run_code_long", n=len(parts), most=MOST_PARTS))
    total = f"{zlib.crc32(text):08X}"
    return tuple(f"{VERSION}.{k}.{len(parts)}.{total}.{part}" for k, part in enumerate(parts, start=1))


def _short(value: Any) -> Any:
    """Numbers to a centimetre and a tenth of a degree: what a tape knows."""
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
        If one is of another kind, a part is missing, or the sum does not fit.
    """
    found: dict[int, str] = {}
    heads = set()
    for code in codes:
        parts = code.strip().split(".")
        if len(parts) != 5 or parts[0] != VERSION or not (parts[1].isdigit() and parts[2].isdigit()):
            raise BadInput(message("fault.run_code_kind"))
        heads.add((int(parts[2][:2]), parts[3]))
        found[int(parts[1][:2])] = parts[4]
    if len(heads) != 1:
        raise BadInput(message("fault.run_code_mixed"))
    count, total = heads.pop()
    missing = [k for k in range(1, min(count, MOST_PARTS) + 1) if k not in found]
    if missing or not 1 <= count <= MOST_PARTS:
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
