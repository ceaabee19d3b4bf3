"""Several track files in one zip archive, read from memory, never unpacked to disk."""

from __future__ import annotations

import io
import lzma
import struct
import zipfile
import zlib
from collections.abc import Iterator

from coldfield.errors import BadInput

MOST_MEMBERS = 200
MOST_BYTES = 64_000_000
"""Most bytes of one member, and of the archive itself."""

MOST_BYTES_TOGETHER = 256_000_000

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


def members(data: bytes, source: str) -> Iterator[tuple[str, bytes | BadInput]]:
    """Yield (name, content) of each file in an archive, or the fault that keeps it from being read.

    Names are the last part of the path in the archive; folders and hidden files are passed over.

    Raises
    ------
    BadInput
        If it is not a zip archive, has more than 200 files, or unpacks to more than 256 MB.

    Notes
    -----
    A declared size is not believed: unpacking stops at the bound, so an archive that blows up (a zip
    bomb) costs at most that much memory, one member at a time. Archives inside archives are not opened.
    """
    try:
        archive = zipfile.ZipFile(io.BytesIO(data))
        entries = [e for e in archive.infolist() if not e.is_dir() and not _hidden(e.filename)]
    except DAMAGE as error:
        raise BadInput(f"is not a whole zip archive: {str(error)[:80]}", source) from None
    if len(entries) > MOST_MEMBERS:
        raise BadInput(f"holds {len(entries)} files; at most {MOST_MEMBERS} are read", source)
    if not entries:
        raise BadInput("holds no file", source)
    left = MOST_BYTES_TOGETHER
    for entry in entries:
        name = entry.filename.replace("\\", "/").rpartition("/")[2]
        content = _content(archive, entry, f"{source}: {name}")
        if isinstance(content, bytes):
            left -= len(content)
            if left < 0:
                raise BadInput(f"unpacks to more than {MOST_BYTES_TOGETHER // 1_000_000} MB", source)
        yield name, content


def _content(archive: zipfile.ZipFile, entry: zipfile.ZipInfo, where: str) -> bytes | BadInput:
    if entry.flag_bits & 0x1:
        return BadInput("is locked with a password; unlock it first", where)
    if entry.filename.lower().endswith(".zip"):
        return BadInput("is an archive inside an archive; put its files into one zip", where)
    try:
        with archive.open(entry) as file:
            content = file.read(MOST_BYTES + 1)
    except DAMAGE as error:
        return BadInput(f"cannot be unpacked: {str(error)[:80]}", where)
    if len(content) > MOST_BYTES:
        return BadInput(f"is larger than {MOST_BYTES // 1_000_000} MB; cut it to the run", where)
    return content


def _hidden(path: str) -> bool:
    parts = path.replace("\\", "/").split("/")
    return any(part.startswith((".", "__MACOSX")) for part in parts)
