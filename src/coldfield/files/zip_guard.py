"""Zip archives of unknown origin: counted before they are listed, unpacked in pieces up to a bound."""

from __future__ import annotations

import lzma
import struct
import zipfile
import zlib
from typing import IO

from coldfield.errors import BadInput

DAMAGE = (
    zipfile.BadZipFile,
    zlib.error,
    lzma.LZMAError,
    struct.error,
    ArithmeticError,
    EOFError,
    LookupError,
    OSError,
    RuntimeError,
    ValueError,
)
"""What a damaged archive makes the standard library raise."""

_DIRECTORY_BYTES = 400
"""The directory's bytes for one member: 46 and its name and what else is told of it. Setting."""

_PIECE = 1 << 20


def open_zip(file: IO[bytes], source: str, *, most_members: int) -> zipfile.ZipFile:
    """Return an archive whose directory was measured before it was read.

    Raises
    ------
    BadInput
        If it is no zip archive, is cut off, or its directory lists more than `most_members`.
    """
    try:
        found = zipfile._EndRecData(file)  # type: ignore[attr-defined]  # what ZipFile itself reads first
        # Its entries stand in the order of the format: the fifth counts members, the sixth bytes.
        if found and (found[4] > most_members or found[5] > most_members * _DIRECTORY_BYTES + 4096):
            raise BadInput(f"holds {found[4]} files; at most {most_members} are read", source)
        archive = zipfile.ZipFile(file)
    except DAMAGE as error:
        raise BadInput(f"is not a whole zip archive: {str(error)[:80]}", source) from None
    if len(archive.filelist) > most_members:
        raise BadInput(f"holds {len(archive.filelist)} files; at most {most_members} are read", source)
    return archive


def unpacked(
    archive: zipfile.ZipFile, entry: zipfile.ZipInfo, where: str, *, most_bytes: int
) -> tuple[bytes | BadInput, int]:
    """Return what a member holds, or the fault that keeps it from being read, and the bytes unpacked.

    A declared size is not believed: unpacking stops beyond `most_bytes`. A fault says that it is locked,
    packed in a way that is not read, damaged or too large.
    """
    if entry.flag_bits & 0x1:
        return BadInput("is locked with a password; unlock it first", where), 0
    # Other ways of packing can ask for gigabytes before they give a byte.
    if entry.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        return BadInput("is packed in a way that is not read; pack it as an ordinary zip", where), 0
    content = bytearray()
    try:
        with archive.open(entry) as file:
            while len(content) <= most_bytes and (piece := file.read(_PIECE)):
                content += piece
    except DAMAGE as error:
        return BadInput(f"cannot be unpacked: {str(error)[:80]}", where), len(content)
    if len(content) > most_bytes:
        return BadInput(f"is larger than {most_bytes // 1_000_000} MB; cut it to the run", where), len(
            content
        )
    return bytes(content), len(content)
