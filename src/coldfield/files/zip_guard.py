"""Zip archives of unknown origin: counted before they are listed, unpacked in pieces up to a limit."""

from __future__ import annotations

import lzma
import struct
import zipfile
import zlib
from collections.abc import Iterator
from typing import IO

from coldfield.errors import BadInput
from coldfield.message import message, size, verbatim

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
"""What the standard library raises for a damaged archive."""

_DIRECTORY_BYTES = 400
"""The directory's bytes for one member: 46 plus its name and extra fields. Setting."""

_PIECE = 1 << 20


def open_zip(file: IO[bytes], source: str, *, most_members: int) -> zipfile.ZipFile:
    """Return an archive after checking the size of its directory before reading it.

    Raises
    ------
    BadInput
        If it is not a zip archive, is cut off, or its directory lists more than `most_members`.
    """
    try:
        found = zipfile._EndRecData(file)  # type: ignore[attr-defined]  # what ZipFile itself reads first
        # Its fields are in the order of the format: the fifth is the number of members, the sixth bytes.
        if found and (found[4] > most_members or found[5] > most_members * _DIRECTORY_BYTES + 4096):
            raise BadInput(message("fault.too_many_files", n=found[4], most=most_members), source)
        archive = zipfile.ZipFile(file)
    except DAMAGE as error:
        raise BadInput(message("fault.not_zip", why=verbatim(str(error)[:80])), source) from None
    if len(archive.filelist) > most_members:
        raise BadInput(message("fault.too_many_files", n=len(archive.filelist), most=most_members), source)
    return archive


def unpacked(
    archive: zipfile.ZipFile, entry: zipfile.ZipInfo, where: str, *, most_bytes: int
) -> tuple[bytes | BadInput, int]:
    """Return a member's content, or the fault that prevents reading it, and the number of bytes unpacked."""
    content = bytearray()
    try:
        for piece in pieces(archive, entry, most_bytes=most_bytes):
            content += piece
    except BadInput as error:
        return BadInput(error.faults, where), len(content)
    return bytes(content), len(content)


def pieces(archive: zipfile.ZipFile, entry: zipfile.ZipInfo, *, most_bytes: int) -> Iterator[bytes]:
    """Yield a member's content, a megabyte at a time.

    Declared sizes are not trusted: unpacking stops beyond `most_bytes`.

    Raises
    ------
    BadInput
        If it is encrypted, compressed in an unsupported way, damaged or too large; without its name.
    """
    if entry.flag_bits & 0x1:
        raise BadInput(message("fault.locked"))
    # Other methods of compression can require gigabytes before they yield a byte.
    if entry.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        raise BadInput(message("fault.packed_otherwise"))
    count = 0
    try:
        with archive.open(entry) as file:
            while piece := file.read(_PIECE):
                count += len(piece)
                if count > most_bytes:
                    break
                yield piece
    except DAMAGE as error:
        raise BadInput(message("fault.not_unpacked", why=verbatim(str(error)[:80]))) from None
    if count > most_bytes:
        raise BadInput(message("fault.larger_than_run", most=size(most_bytes)))
